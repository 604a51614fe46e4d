"""A periodic return as a table to file from; it says on each page that it is no official form."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt

from reportlab.platypus import Flowable, KeepTogether, Spacer

from services.sheets.cautions import licence_caution
from services.sheets.layout import (
    BODY,
    DATA,
    HAIRLINE,
    HEADING,
    INK,
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

ASIDE = 2  # points at each side of a cell
FEWEST_SIGNS, MOST_SIGNS = 9, 60  # of a cell, that count for the width of its column


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
    no_form = _("Not an official form.")
    story: list[Flowable] = [
        # The head of a section stands in the foot of each of its pages.
        Section(f"{sheet.title}. {no_form}"),
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
        *_signature(sheet.imprint.measure(), _),
        said(licence_caution(sheet.imprint.language), SMALL_INK),
    ]
    return bind(story, sheet.imprint, sheet.title)


def _signature(width: float, _: Callable[[str], str]) -> list[Flowable]:
    """Return the lines on which who files it signs by hand."""
    names = (_("Signed by"), _("Certificate number"), _("Day"))
    line = ("LINEABOVE", (0, 0), (-1, 0), 0.6, INK)
    parts = [width * part for part in (0.45, 0.3, 0.25)]
    cells = ruled([[said(name, SMALL) for name in names]], parts, [line], padding=(2, 2))
    return [KeepTogether([Spacer(1, 26), cells, Spacer(1, 8)])]


def _shares(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[float]:
    """Return which part of the width each column takes: the more, the longer what stands in it."""
    columns = zip(*([heads, *rows]), strict=True)
    wants = [sqrt(min(MOST_SIGNS, max(FEWEST_SIGNS, *map(len, column)))) for column in columns]
    return [each / sum(wants) for each in wants]


def _table(width: float, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Flowable:
    """Return a table in which no word is broken, where the page is wide enough for that."""
    cells = [[said(head, SMALL) for head in heads]]
    cells += [[said(cell, SMALL_INK) for cell in row] for row in rows]
    line = ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE)
    least = [
        max(cell.minWidth() for cell in column) + 2 * ASIDE for column in zip(*cells, strict=True)
    ]
    spare = width - sum(least)
    shares = _shares(heads, rows)
    if spare < 0:
        least, spare = [0.0] * len(heads), width
    widths = [word + spare * share for word, share in zip(least, shares, strict=True)]
    return ruled(cells, widths, [line], padding=(ASIDE, 1.2), shape=DATA)
