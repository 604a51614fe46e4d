"""A text without markup is set as the library would set it after parsing."""

import io

import pdfplumber
import pytest
from reportlab.platypus import Paragraph

from services.sheets import layout
from services.sheets.layout import Told, said, with_note
from services.sheets.structure import TaggedCanvas
from services.sheets.text import txt

STYLES = [
    layout.BODY,
    layout.ENTRY,
    layout.ENTRY_STRONG,
    layout.HEADING,
    layout.SMALLEST,
    layout.TITLE,
    layout.WARNED,
]
TEXTS = [
    "Rose bed",
    "  two  blanks and an end ",
    "«Ñandú» – 5 × 3′, 92 °F",
    "a\u00a0b",
    "5\u2009mm and 5\u202fmm",
    "\u00a0a",
    "tab\there",
    "two\nlines",
    "Smith & Sons",
    "<b>Sons</b>",
    "&amp;",
    "",
    " ",
    "\n",
    "A-1/B-2 %s {x}",
    "x" * 300,
]


def as_plain(fragments):
    return [vars(each) for each in fragments]


@pytest.mark.parametrize("style", STYLES, ids=lambda style: f"{style.fontName} {style.fontSize}")
@pytest.mark.parametrize("text", TEXTS)
def test_a_text_is_set_as_the_library_parses_it(style, text):
    ours, parsed = said(text, style), Paragraph(txt(text), style)

    assert as_plain(ours.frags) == as_plain(parsed.frags)
    assert ours.wrap(200, 700) == parsed.wrap(200, 700)


@pytest.mark.parametrize("note", TEXTS)
@pytest.mark.parametrize("text", TEXTS)
def test_a_text_with_a_note_is_set_as_the_library_parses_it(text, note):
    ours = with_note(text, note, layout.CAPTION, 6.5)
    parsed = Paragraph(f'{txt(text)} <font size="6.5">{txt(note)}</font>', layout.CAPTION)

    assert as_plain(ours.frags) == as_plain(parsed.frags)
    assert ours.wrap(200, 700) == parsed.wrap(200, 700)


@pytest.mark.parametrize("text", [*TEXTS, "a hedge of many words " * 9])
def test_a_text_stands_where_the_library_draws_it(text):
    ours, theirs = (words_on(draw, text) for draw in (said, as_the_library))

    assert ours == theirs


def as_the_library(text, style):
    """Return a text as the library draws one, its spaces at the ends of lines kept."""
    return Told(txt(text).strip(" "), style)


def words_on(draw, text):
    """Return each word of a page with its place, in thousandths of a point, read by pdfplumber."""
    file = io.BytesIO()
    canvas = TaggedCanvas(file, invariant=1)
    paragraph = draw(text, layout.ENTRY)
    paragraph.wrapOn(canvas, 200, 700)
    paragraph.drawOn(canvas, 72.25, 300.5)
    canvas.save()
    with pdfplumber.open(file) as pdf:
        return [
            (word["text"], *(round(word[side], 3) for side in ("x0", "x1", "top", "bottom")))
            for word in pdf.pages[0].extract_words()
        ]
