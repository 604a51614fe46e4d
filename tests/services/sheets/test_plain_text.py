"""A text without markup is set as the library would set it after parsing."""

import pytest
from reportlab.platypus import Paragraph

from services.sheets import layout
from services.sheets.layout import said
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
