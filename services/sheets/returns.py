"""A periodic return as a table to file from; it says on each page that it is no official form."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable, Spacer

from services.sheets.cautions import licence_caution
from services.sheets.layout import (
    BODY,
    HAIRLINE,
    HEADING,
    SMALL,
    SMALL_INK,
    TITLE,
    WARNED,
    Imprint,
    ruled,
    said,
)
from services.sheets.pages import Section, bind
from services.sheets.words import words_in


@dataclass(frozen=True, slots=True)
class ReturnSheet:
    """What a return says; all texts in the reader's language.

    caution: that it is no official form, and that the rule was not verified where it was not
    """

    imprint: Imprint
    title: str
    lead: str
    caution: str
    total_heads: tuple[str, ...]
    totals: tuple[tuple[str, ...], ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def draw_return(sheet: ReturnSheet) -> bytes:
    """Return the return as a PDF; the same sheet always gives the same bytes."""
    _ = words_in(sheet.imprint.language)
    story: list[Flowable] = [
        # The head of a section stands in the foot of each of its pages.
        Section(f"{sheet.title}. {_('Not an official form.')}"),
        said(sheet.title, TITLE),
        said(sheet.caution, WARNED),
        Spacer(1, 4),
        said(sheet.lead, BODY),
        Spacer(1, 8),
        said(_("By product and county"), HEADING),
        _table(sheet.imprint.measure(), sheet.total_heads, sheet.totals),
        Spacer(1, 8),
        said(_("Each application"), HEADING),
        _table(sheet.imprint.measure(), sheet.heads, sheet.rows),
        Spacer(1, 8),
        said(licence_caution(sheet.imprint.language), SMALL_INK),
    ]
    return bind(story, sheet.imprint, sheet.title)


def _table(width: float, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Flowable:
    cells: list[list[object]] = [[said(head, SMALL) for head in heads]]
    cells += [[said(cell, SMALL_INK) for cell in row] for row in rows]
    line = ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE)
    table = ruled(cells, [width / len(heads)] * len(heads), [line], padding=(2, 1.2))
    table.repeatRows = 1
    return table
