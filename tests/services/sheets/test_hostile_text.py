"""Whatever people type prints as text: no markup acts, nothing is dropped or stops a batch."""

import io
from dataclasses import replace

import pypdf
import pytest

from services.sheets.application_record import draw_application_records
from services.sheets.client_summary import draw_client_summary
from services.sheets.estimate import draw_estimate
from services.sheets.statement import draw_statement
from services.sheets.text import NAME, cleaned, fitted, printable, txt
from services.sheets.visit_sheet import draw_visit_sheets

SAID = [
    "<b>unclosed",
    '<img src="/etc/hostname"/>',
    '<a href="http://duskbook.example">link</a>',
    '<onDraw name="x"/>',
    "</para><font",
    "Smith & Sons < 3 > 2",
    "&amp; &#65;",
    'O\'Hara "Rose" “Bed”',
    "%(name)s %s {0} {{7*7}}",
    "=cmd()",
]
CHANGED = [
    ("Ro\x00se\x07", "Rose"),
    ("rose \U0001f339", "rose \ufffd"),
    ("عربى", "\ufffd" * 4),
    ("עברית", "\ufffd" * 5),
    ("\u202eevil", "[U+202E]evil"),
    ("\ud800x", "\ufffdx"),
]


def squeezed(text):
    return "".join(text.split())


@pytest.fixture(params=["visit", "record", "summary", "bill", "proposal"])
def drawn(request, sheets, records, summary, bill, proposal, filled_with):
    draw, sheet = {
        "visit": (draw_visit_sheets, sheets),
        "record": (draw_application_records, records),
        "summary": (draw_client_summary, summary),
        "bill": (draw_statement, bill),
        "proposal": (draw_estimate, proposal),
    }[request.param]
    return lambda text: draw(filled_with(sheet, text))


@pytest.mark.parametrize("hostile", SAID)
def test_markup_prints_as_it_was_typed(drawn, text_of, hostile):
    assert squeezed(hostile) in squeezed(text_of(drawn(hostile)))


@pytest.mark.parametrize("hostile", SAID)
def test_markup_embeds_no_picture_and_no_link(drawn, hostile):
    pages = pypdf.PdfReader(io.BytesIO(drawn(hostile))).pages

    assert not any(page.images for page in pages)
    assert not any("/Annots" in page for page in pages)


@pytest.mark.parametrize(("hostile", "shown"), CHANGED)
def test_signs_beyond_the_typefaces_show_as_boxes_or_marks(drawn, text_of, hostile, shown):
    assert squeezed(shown) in squeezed(text_of(drawn(hostile)))


@pytest.mark.parametrize("long", ["a" * 6000, "word " * 1200, "\n" * 6000])
def test_a_text_of_thousands_of_signs_does_not_stop_a_letter(summary, filled_with, long):
    assert draw_client_summary(filled_with(summary, long)).startswith(b"%PDF")


def test_one_long_note_on_a_stop_runs_on_to_the_next_page(sheets, stop, text_of):
    limits = replace(stop.limits, wind="calm " * 700 + "ENDS")

    pdf = draw_visit_sheets(replace(sheets, stops=(replace(stop, limits=limits),)))

    assert "ENDS" in text_of(pdf)


def test_a_name_is_cut_with_an_ellipsis_after_its_limit():
    assert cleaned("x" * 201, NAME) == "x" * 199 + "…"
    assert cleaned("x" * 200, NAME) == "x" * 200


def test_accents_typed_apart_are_joined():
    assert printable("ñ") == "ñ"


def test_a_line_end_becomes_a_break_and_nothing_else():
    assert txt("one\r\ntwo <br/>") == "one<br/>two &lt;br/&gt;"


def test_line_ends_beyond_the_fortieth_run_on():
    assert txt("x\n" * 60).count("<br/>") == 39


def test_a_line_too_long_for_its_room_ends_in_an_ellipsis():
    assert fitted("Rose bed by the kitchen", "Source Sans 3", 10, 40).endswith("…")
