"""Whether the store lasts for a whole rotation, taking first the lot that expires first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from itertools import groupby

from treatments.rules.facts import LotFacts, PlannedApplication
from treatments.rules.findings import Finding, Severity, gettext_noop

SHORT = gettext_noop(
    "%(product)s is short: the rotation takes %(needed)s and the store can give %(held)s by then; "
    "it runs out in week %(first)s."
)
BUY = gettext_noop("Buy at least %(short)s before %(day)s.")
EXPIRES = gettext_noop(
    "Lot %(lot)s of %(product)s expires on %(expires)s, before it is used on %(day)s."
)
USE_OTHER = gettext_noop("Take lot %(other)s then, and use lot %(lot)s before it expires.")
BUY_FRESH = gettext_noop("Buy a fresh lot, and use lot %(lot)s before it expires.")
TAKE_FIRST = gettext_noop("Take lot %(lot)s of %(product)s first: it expires on %(expires)s.")


@dataclass(frozen=True, slots=True)
class Draw:
    """What an application takes from a lot."""

    application: PlannedApplication
    lot: LotFacts
    amount: Decimal


@dataclass(slots=True)
class Shelf:
    """The lots of one product while a rotation is walked through, first to expire first."""

    lots: list[LotFacts]
    left: dict[str, Decimal] = field(default_factory=dict)
    draws: list[Draw] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.lots = sorted(self.lots, key=lambda lot: lot.expires_on or date.max)
        self.left = {lot.lot_number: lot.balance for lot in self.lots}

    def take(self, application: PlannedApplication, amount: Decimal) -> Decimal:
        """Take an amount from lots that are good that day; return what is missing."""
        for lot in self.good_on(application.day):
            drawn = min(amount, self.left[lot.lot_number])
            if drawn > 0:
                self.left[lot.lot_number] -= drawn
                self.draws.append(Draw(application, lot, drawn))
                amount -= drawn
        return amount

    def good_on(self, day: date) -> list[LotFacts]:
        """Return the lots that have not expired by a day; the last day counts."""
        return [lot for lot in self.lots if lot.expires_on is None or lot.expires_on >= day]


def check_stock(
    applications: Sequence[PlannedApplication], lots: Sequence[LotFacts]
) -> list[Finding]:
    """Return which products run short, which lots expire first, and which to take first.

    applications: the weeks of a rotation; those without an amount are passed over
    lots: of the store, each with its balance in the unit of the store
    """
    planned = sorted(applications, key=lambda each: (each.product.name, each.day))
    findings: list[Finding] = []
    for product, group in groupby(planned, key=lambda each: each.product.name):
        shelf = Shelf([lot for lot in lots if lot.product == product])
        findings += _short(list(group), shelf)
        findings += _expiring(product, shelf, planned)
        findings += _order(product, shelf)
    return findings


def _short(applications: Sequence[PlannedApplication], shelf: Shelf) -> list[Finding]:
    missing, first = Decimal(0), None
    for application in applications:
        lacking = shelf.take(application, application.amount or Decimal(0))
        missing += lacking
        first = first or (application if lacking else None)
    if first is None:
        return []
    needed = sum((each.amount or Decimal(0) for each in applications), Decimal(0))
    facts = {
        "product": first.product.name,
        "needed": needed,
        "held": needed - missing,
        "short": missing,
        "first": first.week,
        "day": first.day,
    }
    return [
        Finding("stock-short", Severity.WARNING, SHORT, BUY, facts, "common practice", first.week)
    ]


def _expiring(
    product: str, shelf: Shelf, planned: Sequence[PlannedApplication]
) -> Iterator[Finding]:
    mine = [each for each in planned if each.product.name == product and each.amount]
    for lot in shelf.lots:
        late = [each for each in mine if lot.expires_on is not None and lot.expires_on < each.day]
        if not late or shelf.left[lot.lot_number] <= 0:
            continue
        others = shelf.good_on(late[0].day)
        facts = {
            "product": product,
            "lot": lot.lot_number,
            "expires": lot.expires_on,
            "day": late[0].day,
            "other": others[0].lot_number if others else "",
        }
        remedy = USE_OTHER if others else BUY_FRESH
        yield Finding(
            "lot-expires",
            Severity.WARNING,
            EXPIRES,
            remedy,
            facts,
            "common practice",
            late[0].week,
        )


def _order(product: str, shelf: Shelf) -> Iterator[Finding]:
    """Yield which lot goes first where there is a choice."""
    if not shelf.draws:
        return
    first = shelf.draws[0]
    choice = [lot for lot in shelf.good_on(first.application.day) if lot.balance > 0]
    if len(choice) < 2 or first.lot.expires_on is None:
        return
    facts = {"product": product, "lot": first.lot.lot_number, "expires": first.lot.expires_on}
    yield Finding(
        "lot-first",
        Severity.NOTE,
        TAKE_FIRST,
        "",
        facts,
        "common practice",
        first.application.week,
    )
