"""A client's statement: what was done on which day, by which price, tax, payments and balance."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from services.sheets.dates import number, short_day
from services.sheets.layout import (
    BODY,
    DATA,
    HAIRLINE,
    HEADING,
    INK,
    NAMED,
    NUMBER,
    PLAIN,
    SMALL,
    SMALL_INK,
    STRONG,
    TITLE,
    Imprint,
    boxed,
    columns,
    ruled,
    said,
)
from services.sheets.pages import Section, bind
from services.sheets.text import NAME
from services.sheets.words import words_in

RIGHT = ParagraphStyle("right", parent=SMALL, alignment=TA_RIGHT)


@dataclass(frozen=True, slots=True)
class ChargedLine:
    """A line: its day, what was done, by which price, and how much (USD)."""

    day: date
    words: str
    priced: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class TaxLine:
    """A tax by the business's own table: of which sum, and how much (USD)."""

    name: str
    place: str
    percent: Decimal
    base: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class PaidLine:
    """A payment that was noted."""

    day: date
    way: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class StatementSheet:
    """What a statement says; texts in the client's language, sums in US dollars.

    carried: the balance of the statement before
    """

    imprint: Imprint
    number: int
    client: str
    address: str
    given_on: date
    first_day: date
    last_day: date
    lines: tuple[ChargedLine, ...]
    taxes: tuple[TaxLine, ...]
    payments: tuple[PaidLine, ...]
    lines_total: Decimal
    total: Decimal
    carried: Decimal
    balance: Decimal


def draw_statement(sheet: StatementSheet) -> bytes:
    """Return the statement as a PDF; the same sheet always gives the same bytes."""
    _ = words_in(sheet.imprint.language)
    width = sheet.imprint.measure()
    title = _("Statement %(number)s") % {"number": sheet.number}
    story: list[Flowable] = [
        Section(f"{title}, {sheet.client}"),
        *_head(sheet, width, _),
        Spacer(1, 14),
        said(title, TITLE),
        said(_period(sheet, _), BODY),
        Spacer(1, 8),
        _lines(sheet, width, _),
        Spacer(1, 6),
        KeepTogether([_sums(sheet, width, _), Spacer(1, 10), *_close(sheet, width, _)]),
    ]
    return bind(story, sheet.imprint, title)


def dollars(amount: Decimal) -> str:
    """Return an amount of dollars with its cents.

    >>> dollars(Decimal("1250.5")), dollars(Decimal("-3"))
    ('$1,250.50', '−$3.00')
    """
    sign = "−" if amount < 0 else ""
    return f"{sign}${number(abs(amount), 2)}"


def letterhead(imprint: Imprint, width: float) -> Table:
    """Return who writes: the business at the left, its address at the right."""
    right = [
        said(line, SMALL) for line in (imprint.licence, imprint.address, imprint.phone) if line
    ]
    return columns([[said(imprint.business, HEADING, NAME)], right], [width * 0.62, width * 0.38])


def _head(sheet: StatementSheet, width: float, _: Callable[[str], str]) -> list[Flowable]:
    lines = [part for part in sheet.address.split("\n") if part] or [sheet.client]
    return [
        letterhead(sheet.imprint, width),
        Spacer(1, 16),
        *[said(line, PLAIN, NAME) for line in lines],
    ]


def _period(sheet: StatementSheet, _: Callable[[str], str]) -> str:
    language = sheet.imprint.language
    return _("For %(first)s to %(last)s, %(year)s. Given out on %(day)s.") % {
        "first": short_day(sheet.first_day, language),
        "last": short_day(sheet.last_day, language),
        "year": sheet.last_day.year,
        "day": short_day(sheet.given_on, language),
    }


def _lines(sheet: StatementSheet, width: float, _: Callable[[str], str]) -> Table:
    heads = (_("Day"), _("What"), _("Price"), _("Amount"))
    rows: list[list[object]] = [[*(said(head, SMALL) for head in heads[:3]), said(heads[3], RIGHT)]]
    rows += [
        [
            said(short_day(line.day, sheet.imprint.language), SMALL_INK),
            said(line.words, SMALL_INK),
            said(line.priced, SMALL),
            dollars(line.amount),
        ]
        for line in sheet.lines
    ]
    if not sheet.lines:
        rows.append(["", said(_("Nothing was charged in this period."), SMALL_INK), "", ""])
    return ruled(
        rows,
        [width * part for part in (0.14, 0.44, 0.27, 0.15)],
        [("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE), ("ALIGN", (3, 0), (3, -1), "RIGHT")],
        padding=(2, 2.5),
        shape=DATA,
    )


def _sums(sheet: StatementSheet, width: float, _: Callable[[str], str]) -> Table:
    after: list[Sequence[object]] = [
        [said(_("Balance of the statement before"), PLAIN), dollars(sheet.carried)]
    ]
    for paid in sheet.payments:
        told = _("Paid on %(day)s, %(way)s") % {
            "day": short_day(paid.day, sheet.imprint.language),
            "way": paid.way,
        }
        after.append([said(told, PLAIN), dollars(-paid.amount)])
    first = [said(_("Sum of lines"), PLAIN), dollars(sheet.lines_total)]
    return summed(first, sheet.taxes, sheet.total, width, _, after=after)


def summed(
    first: Sequence[object],
    taxes: Sequence[TaxLine],
    total: Decimal,
    width: float,
    _: Callable[[str], str],
    *,
    after: Sequence[Sequence[object]] = (),
) -> Table:
    """Return the sum of lines, a row for each tax, the total between two rules, and what follows.

    width: pt
    """
    rows: list[Sequence[object]] = [first]
    for tax in taxes:
        told = _("%(name)s, %(place)s: %(percent)s%% of %(base)s") % {
            "name": tax.name,
            "place": tax.place,
            "percent": number(tax.percent),
            "base": dollars(tax.base),
        }
        rows.append([said(told, PLAIN), dollars(tax.amount)])
    strong = len(rows)
    rows += [[said(_("Total"), STRONG), dollars(total)], *after]
    commands = [
        ("ALIGN", (1, 0), (1, -1), "RIGHT"),
        ("LINEABOVE", (0, strong), (-1, strong), 0.6, INK),
        ("LINEBELOW", (0, strong), (-1, strong), 0.6, INK),
    ]
    return ruled(rows, [width * 0.8, width * 0.2], commands, padding=(2, 2), shape=NAMED)


def _close(sheet: StatementSheet, width: float, _: Callable[[str], str]) -> list[Flowable]:
    owed = _("Balance: %(amount)s") % {"amount": dollars(sheet.balance)}
    if sheet.balance <= 0:
        words = _("Nothing is to be paid.")
    else:
        words = _("Please name statement %(number)s with your payment.") % {"number": sheet.number}
    note = _(
        "Amounts are in US dollars; each line and each tax is rounded once, half a cent up. Tax "
        "goes by the rates that the business entered."
    )
    return [
        boxed([said(owed, NUMBER), said(words, PLAIN)], width),
        Spacer(1, 8),
        said(note, SMALL),
    ]
