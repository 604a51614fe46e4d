"""The PDF files themselves: every face embedded, the same data the same bytes, honest dates."""

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pypdf
import pytest

from services.sheets.application_record import draw_application_records
from services.sheets.client_summary import draw_client_summary
from services.sheets.estimate import draw_estimate
from services.sheets.notice import NoticeLetter, NoticePart, draw_notices
from services.sheets.returns import ReturnSheet, draw_return
from services.sheets.statement import draw_statement
from services.sheets.visit_sheet import draw_visit_sheets


@pytest.fixture(params=["visit", "record", "summary", "bill", "proposal"])
def draw(request, sheets, records, summary, bill, proposal):
    draw, sheet = {
        "visit": (draw_visit_sheets, sheets),
        "record": (draw_application_records, records),
        "summary": (draw_client_summary, summary),
        "bill": (draw_statement, bill),
        "proposal": (draw_estimate, proposal),
    }[request.param]
    return lambda: draw(sheet)


@pytest.fixture
def letters(summary):
    told = (("Date", "Monday"), ("Product", "Quiet Soap"))
    parts = tuple(NoticePart(each, "Notice", "We come.", told, "Ask us.") for each in ("en", "es"))
    return lambda: draw_notices(
        [NoticeLetter("N. Ext", "4 Shelf Street", parts, summary.imprint)], summary.imprint
    )


@pytest.fixture
def filed(summary):
    sheet = ReturnSheet(
        imprint=summary.imprint,
        title="Return for New York",
        lead="One application.",
        caution="Not an official form.",
        total_heads=("Product", "Amount"),
        totals=(("Quiet Soap", "7.5 fl oz"),),
        heads=("Record", "Date"),
        rows=(("1", "2026-07-06"),) * 120,
    )
    return lambda: draw_return(sheet)


@pytest.mark.parametrize("name", ["letters", "filed"])
def test_a_notice_and_a_return_last_as_all_paper_does(request, name):
    paper = request.getfixturevalue(name)()
    pdf = pypdf.PdfReader(io.BytesIO(paper))

    assert paper == request.getfixturevalue(name)()
    assert pdf.trailer["/Root"]["/Lang"] == "en"
    assert pdf.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert len(pdf.outline) == 1
    assert all("+Source" in font.get_object()["/BaseFont"] for font in fonts_of(paper))


def test_each_page_of_a_return_says_that_it_is_no_official_form(filed):
    pages = pypdf.PdfReader(io.BytesIO(filed())).pages

    assert len(pages) > 1
    assert all("Not an official form" in page.extract_text() for page in pages)


def fonts_of(pdf):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    for page in reader.pages:
        yield from page["/Resources"]["/Font"].get_object().values()


def test_every_face_is_ours_and_embedded(draw):
    for font in fonts_of(draw()):
        described = font.get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in described
        assert "+Source" in font.get_object()["/BaseFont"]


def test_the_same_data_gives_the_same_bytes(draw):
    assert draw() == draw()


def test_the_file_is_dated_by_its_data(draw):
    created = pypdf.PdfReader(io.BytesIO(draw())).metadata.creation_date

    assert created == datetime(2026, 6, 18, 20, tzinfo=UTC)


def test_the_file_names_its_language(draw):
    assert pypdf.PdfReader(io.BytesIO(draw())).trailer["/Root"]["/Lang"] == "en"


def test_the_foot_names_business_licence_page_and_time(draw, pages_of):
    foot = pages_of(draw())[0].extract_text().splitlines()[-3:]

    assert foot[0].endswith(("page 1 of 1", "page 1 of 2"))
    assert foot[1] == "Lantern Hedge (invented) · DEMO-000"
    assert foot[2].endswith("printed June 18, 2026, 4:00 pm EDT (2026-06-18 20:00 UTC)")


def test_another_printing_time_gives_other_bytes(summary):
    later = replace(summary.imprint, printed_at=summary.imprint.printed_at + timedelta(days=1))

    assert draw_client_summary(summary) != draw_client_summary(replace(summary, imprint=later))
