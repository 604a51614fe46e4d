"""A priced proposal for a course: what was found, what is proposed by week, and its price."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from services.sheets.cautions import client_caution, unverified_caution
from services.sheets.dates import long_day, short_day
from services.sheets.layout import (
    BODY,
    DATA,
    HAIRLINE,
    HEADING,
    LEAD,
    PLAIN,
    SMALL,
    SMALL_INK,
    TITLE,
    WARNED,
    Imprint,
    boxed,
    listed,
    ruled,
    said,
)
from services.sheets.pages import Section, bind
from services.sheets.statement import RIGHT, TaxLine, dollars, letterhead, summed
from services.sheets.words import words_in


@dataclass(frozen=True, slots=True)
class ProposedLine:
    """What is proposed for a week, and its price (USD)."""

    week: int
    day: date
    words: str
    priced: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class EstimateSheet:
    """What an estimate says; texts in the client's language, sums in US dollars.

    unverified_place: the name of a place whose rules nobody has verified here, else ""
    """

    imprint: Imprint
    number: int
    client: str
    address: str
    pest: str
    plantings: tuple[str, ...]
    found: tuple[str, ...]
    note: str
    lines: tuple[ProposedLine, ...]
    taxes: tuple[TaxLine, ...]
    lines_total: Decimal
    total: Decimal
    valid_until: date
    unverified_place: str = ""


def draw_estimate(sheet: EstimateSheet) -> bytes:
    """Return the estimate as a PDF; the same sheet always gives the same bytes."""
    _ = words_in(sheet.imprint.language)
    width = sheet.imprint.measure()
    title = _("Estimate %(number)s") % {"number": sheet.number}
    story: list[Flowable] = [
        Section(f"{title}, {sheet.client}"),
        letterhead(sheet.imprint, width),
        Spacer(1, 14),
        said(title, TITLE),
        said(_about(sheet, _), BODY),
        Spacer(1, 8),
        said(_("What was found"), HEADING),
        listed(sheet.found, BODY, width),
        *([Spacer(1, 4), said(sheet.note, BODY)] if sheet.note else []),
        Spacer(1, 8),
        said(_("What is proposed"), HEADING),
        _weeks(sheet, width, _),
        Spacer(1, 6),
        KeepTogether([_sums(sheet, width, _), Spacer(1, 10), *_close(sheet, width, _)]),
    ]
    return bind(story, sheet.imprint, title)


def _about(sheet: EstimateSheet, _: Callable[[str], str]) -> str:
    return _("For %(client)s, %(address)s: a course against %(pest)s on %(plantings)s.") % {
        "client": sheet.client,
        "address": sheet.address,
        "pest": sheet.pest,
        "plantings": ", ".join(sheet.plantings),
    }


def _weeks(sheet: EstimateSheet, width: float, _: Callable[[str], str]) -> Table:
    heads = (_("Week"), _("Planned for"), _("What"), _("Price"), _("Amount"))
    rows: list[list[object]] = [[*(said(head, SMALL) for head in heads[:4]), said(heads[4], RIGHT)]]
    rows += [
        [
            str(line.week),
            said(short_day(line.day, sheet.imprint.language), SMALL_INK),
            said(line.words, SMALL_INK),
            said(line.priced, SMALL),
            dollars(line.amount),
        ]
        for line in sheet.lines
    ]
    return ruled(
        rows,
        [width * part for part in (0.08, 0.15, 0.40, 0.22, 0.15)],
        [("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE), ("ALIGN", (4, 1), (4, -1), "RIGHT")],
        padding=(2, 2.5),
        shape=DATA,
    )


def _sums(sheet: EstimateSheet, width: float, _: Callable[[str], str]) -> Table:
    first = [said(_("Sum of weeks"), PLAIN), dollars(sheet.lines_total)]
    return summed(first, sheet.taxes, sheet.total, width, _)


def _close(sheet: EstimateSheet, width: float, _: Callable[[str], str]) -> list[Flowable]:
    language = sheet.imprint.language
    until = _("Valid until %(day)s") % {"day": long_day(sheet.valid_until, language)}
    how = _("You accept or decline it on your own page, by the link that comes with it.")
    changes = _(
        "Weather, counts and what the label asks decide on each day; a week may move, and what is "
        "no longer needed is not done. A price that is accepted holds for its week."
    )
    story: list[Flowable] = [
        boxed([said(until, LEAD), said(how, PLAIN)], width),
        Spacer(1, 8),
        said(changes, SMALL_INK),
        Spacer(1, 4),
    ]
    if sheet.unverified_place:
        story.append(said(unverified_caution(sheet.unverified_place, language), WARNED))
    return [*story, said(client_caution(language), SMALL_INK)]
