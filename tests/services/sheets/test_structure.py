"""Papers tell what is a heading, a table, a figure, to whoever has them read aloud [ISO32000].

Read back by pdfplumber and pypdf, which were written by others.
"""

import io
from dataclasses import replace
from itertools import chain

import pdfplumber
import pypdf
import pytest

from services.sheets.application_record import draw_application_records
from services.sheets.client_summary import draw_client_summary
from services.sheets.estimate import draw_estimate
from services.sheets.notice import NoticeLetter, NoticePart, draw_notices
from services.sheets.posting_sign import Circle, PostingSign, Words, draw_posting_sign
from services.sheets.returns import ReturnSheet, draw_return
from services.sheets.statement import draw_statement
from services.sheets.visit_sheet import draw_visit_sheets


@pytest.fixture
def notice(imprint):
    told = (("Date", "Monday"), ("Product", "Quiet Soap"))
    parts = tuple(NoticePart(each, "Notice", "We come.", told, "Ask us.") for each in ("en", "es"))
    return draw_notices([NoticeLetter("N. Ext", "4 Shelf Street", parts, imprint)], imprint)


@pytest.fixture
def filed(imprint):
    rows = (("1", "2026-07-06"),) * 120
    told = (
        "Return",
        "Lead.",
        "Not official.",
        ("Product",),
        (("Soap",),),
        ("Record", "Date"),
        rows,
    )
    return draw_return(ReturnSheet(imprint, *told))


@pytest.fixture
def sign(imprint):
    parts = (Words("CAUTION", points=48), Circle(2))
    sizes = {"width_in": 5, "height_in": 4, "background": "white", "lettering": "green"}
    return draw_posting_sign(PostingSign(imprint, "Sign", parts=parts, beside=("Ask.",), **sizes))


@pytest.fixture(
    params=["visit", "record", "summary", "bill", "proposal", "notice", "filed", "sign"]
)
def paper(request):
    drawn = {
        "visit": (draw_visit_sheets, "sheets"),
        "record": (draw_application_records, "records"),
        "summary": (draw_client_summary, "summary"),
        "bill": (draw_statement, "bill"),
        "proposal": (draw_estimate, "proposal"),
    }
    if request.param in drawn:
        draw, sheet = drawn[request.param]
        return draw(request.getfixturevalue(sheet))
    return request.getfixturevalue(request.param)


def elements_of(paper):
    """Yield each element of the tree with the roles that it stands in."""

    def walk(element, above):
        yield element, above
        for child in element.get("children", ()):
            yield from walk(child, (*above, element["type"]))

    with pdfplumber.open(io.BytesIO(paper)) as pdf:
        tree = list(pdf.structure_tree)
    return chain.from_iterable(walk(each, ()) for each in tree)


def pieces_of(paper):
    """Return page and number of each piece of content that is drawn."""
    with pdfplumber.open(io.BytesIO(paper)) as pdf:
        return {
            (page.page_number, thing["mcid"])
            for page in pdf.pages
            for kind in page.objects.values()
            for thing in kind
            if thing.get("mcid") is not None
        }


def test_a_paper_says_that_it_is_tagged(paper):
    root = pypdf.PdfReader(io.BytesIO(paper)).trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/StructTreeRoot"]["/K"].get_object()["/S"] == "/Document"


def test_all_that_is_drawn_is_content_or_an_artifact(paper):
    with pdfplumber.open(io.BytesIO(paper)) as pdf:
        things = [each for page in pdf.pages for kind in page.objects.values() for each in kind]

    assert things
    assert [each for each in things if each["tag"] is None] == []
    assert {each["tag"] for each in things if each["mcid"] is None} <= {"Artifact"}


def test_each_piece_of_content_stands_in_the_tree_once(paper):
    told = [
        (each["page_number"], number)
        for each, _above in elements_of(paper)
        for number in each.get("mcids", ())
    ]

    assert len(told) == len(set(told))
    assert pieces_of(paper) <= set(told)


def test_the_tree_of_parents_leads_back_to_each_piece(paper):
    reader = pypdf.PdfReader(io.BytesIO(paper))
    numbers = reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    parents = dict(zip(numbers[::2], numbers[1::2], strict=True))

    for place, page in enumerate(reader.pages):
        assert page["/StructParents"] == place
        for number, element in enumerate(parents[place].get_object()):
            assert number in element.get_object()["/K"]
            assert element.get_object()["/Pg"].get_object() == page.get_object()


def test_every_figure_is_told_in_words_and_every_row_stands_in_a_table(paper):
    for element, above in elements_of(paper):
        role = element["type"]
        assert role != "Figure" or element["alt_text"]
        assert role != "TR" or above[-1] == "Table"
        assert role not in ("TH", "TD") or above[-1] == "TR"
        assert role != "LI" or above[-1] == "L"


def test_a_paper_has_one_heading_above_the_others(records):
    roles = [each["type"] for each, _above in elements_of(draw_application_records(records))]

    assert roles.count("H1") == len(records.records)
    assert roles.index("H1") < roles.index("H2")


def test_the_head_of_a_table_is_said_again_on_each_page(filed):
    pages = {each["page_number"] for each, _above in elements_of(filed) if each["type"] == "TH"}

    assert pages == set(range(1, len(pypdf.PdfReader(io.BytesIO(filed)).pages) + 1))


def test_each_language_of_a_notice_is_named(notice):
    spoken = [each["lang"] for each, _above in elements_of(notice) if each["type"] == "Div"]

    assert spoken == ["en", "es"]


def test_words_at_the_end_of_a_line_are_parted_by_a_space(summary):
    long = replace(summary, why=" ".join(["mites"] * 60), please=(" ".join(["water"] * 60),))
    with pdfplumber.open(io.BytesIO(draw_client_summary(long))) as pdf:
        text = "".join(each["text"] for each in pdf.pages[0].chars)

    assert " ".join(["mites"] * 60) in text
    assert " ".join(["water"] * 60) in text


def test_the_outline_leads_to_where_each_part_begins(sheets):
    reader = pypdf.PdfReader(io.BytesIO(draw_visit_sheets(sheets)))
    pages = [reader.get_destination_page_number(each) for each in reader.outline]

    assert pages == list(range(len(reader.pages)))


def test_the_index_of_records_leads_to_their_pages(records):
    two = replace(records, records=records.records * 2, with_index=True)
    reader = pypdf.PdfReader(io.BytesIO(draw_application_records(two)))
    parts = [reader.get_destination_page_number(each) for each in reader.outline]
    led = [each.get_object()["/Dest"][0].get_object() for each in reader.pages[0]["/Annots"]]

    assert parts[0] == 0 < parts[1] < parts[2]
    assert sorted({reader.get_page_number(each) for each in led}) == parts[1:]
