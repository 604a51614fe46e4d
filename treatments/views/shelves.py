"""How the store stands: lots by product, what to use first, and what is about to expire."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from treatments.models import Lot, Product, StockEntry
from treatments.reserving import reserved_amounts
from treatments.storekeeping import Carried, carried

EXPIRING = timedelta(days=60)  # the store is looked through before each half season


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot in the register of the store."""

    lot: Lot
    reserved: Decimal
    carried: tuple[Carried, ...]
    words: tuple[str, ...]
    is_late: bool


@dataclass(frozen=True, slots=True)
class Shelf:
    """The lots of one product, and what they hold together."""

    product: Product
    rows: list[LotRow] = field(default_factory=list)

    def total(self) -> Decimal:
        """Return what all lots hold together."""
        return sum((row.lot.balance for row in self.rows), Decimal(0))


def shelves(today: date, *, empty_too: bool = False) -> list[Shelf]:
    """Return the store by product, each shelf with what expires first at its head."""
    lots = Lot.objects.select_related("product").with_balance()
    if not empty_too:
        lots = lots.exclude(balance=0)
    lots = list(lots.first_expiry_first())
    reserved, on_trucks = reserved_amounts(lots), carried()
    by_product = groupby(sorted(lots, key=lambda lot: lot.product.name), lambda lot: lot.product)
    return [
        Shelf(product, list(_rows(group, reserved, on_trucks, today)))
        for product, group in by_product
    ]


def _rows(lots: Iterable[Lot], reserved, on_trucks, today: date) -> Iterator[LotRow]:
    lots = list(lots)
    usable = [lot for lot in lots if lot.balance > 0 and not is_expired(lot, today)]
    first = usable[0] if len(usable) > 1 else None
    for lot in lots:
        words = [*_words(lot, today), *([_("use first")] if lot is first else [])]
        yield LotRow(
            lot=lot,
            reserved=reserved.get(lot.pk, Decimal(0)),
            carried=tuple(on_trucks.get(lot.pk, ())),
            words=tuple(words),
            is_late=lot.balance < 0 or is_expired(lot, today),
        )


def is_expired(lot: Lot, today: date) -> bool:
    """Say whether a lot is past its last day, which still counts."""
    return lot.expires_on is not None and lot.expires_on < today


def _words(lot: Lot, today: date) -> Iterator[str]:
    if lot.balance < 0:
        yield _("below zero: count it")
    if is_expired(lot, today):
        yield _("expired")
    elif lot.expires_on is not None and lot.expires_on <= today + EXPIRING:
        yield _("expires soon")


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """A line of a lot's ledger with what was left after it."""

    entry: StockEntry
    balance: Decimal


def ledger(lot: Lot) -> list[LedgerLine]:
    """Return the ledger of a lot in its order, each line with the balance after it."""
    lines, balance = [], Decimal(0)
    for entry in lot.entries.select_related("entered_by", "record", "locker"):
        balance += entry.amount
        lines.append(LedgerLine(entry, balance))
    return lines
