"""What the store will lack for the applications to come, and by when it is to be there."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from treatments.rules.facts import LotFacts

BEFOREHAND = timedelta(days=1)  # a delivery is put away on the day before; common practice


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one visit takes of a product on the day for which it is planned, in the store's unit."""

    day: date
    product: str
    amount: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class ToBuy:
    """What is to be bought of a product.

    amount: all that is missing on the days looked at, in the store's unit
    buy_by: the last day on which it may come, for the first visit that lacks it
    visits: how many visits lack it
    expiring: what lots hold that expire before it would be used
    """

    product: str
    amount: Decimal
    unit: str
    buy_by: date
    visits: int
    expiring: Decimal


def to_buy(wanted: Iterable[Wanted], lots: Sequence[LotFacts], today: date) -> tuple[ToBuy, ...]:
    """Return what is to be bought from today on, what is needed first at the head.

    Day after day the lot that expires first goes first; on its last day a lot is still good.

    >>> june = [Wanted(date(2026, 6, day), "soap", Decimal(8), "fl oz") for day in (1, 8)]
    >>> lines = to_buy(june, [LotFacts("soap", "L1", Decimal(20), date(2026, 6, 7))], june[0].day)
    >>> [(line.amount, line.buy_by.day, line.expiring) for line in lines]
    [(Decimal('8'), 7, Decimal('12'))]
    """
    by_product: dict[str, list[Wanted]] = defaultdict(list)
    for each in wanted:
        by_product[each.product].append(each)
    lines = [_line(product, of_product, lots, today) for product, of_product in by_product.items()]
    found = [line for line in lines if line is not None]
    return tuple(sorted(found, key=lambda line: (line.buy_by, line.product)))


def _line(
    product: str, wanted: Iterable[Wanted], lots: Iterable[LotFacts], today: date
) -> ToBuy | None:
    left = {lot: max(lot.balance, Decimal(0)) for lot in lots if lot.product == product}
    missing: list[tuple[Wanted, Decimal]] = []
    for each in sorted(wanted, key=lambda one: one.day):
        lacks = _taken(each, left)
        if lacks > 0:
            missing.append((each, lacks))
    if not missing:
        return None
    first, last = missing[0][0], missing[-1][0]
    expiring = [
        amount for lot, amount in left.items() if lot.expires_on and lot.expires_on < last.day
    ]
    return ToBuy(
        product=product,
        amount=sum((lacks for _, lacks in missing), Decimal(0)),
        unit=first.unit,
        buy_by=max(first.day - BEFOREHAND, today),
        visits=len(missing),
        expiring=sum(expiring, Decimal(0)),
    )


def _taken(wanted: Wanted, left: dict[LotFacts, Decimal]) -> Decimal:
    """Take from the lots what a visit wants, and return what they lack."""
    lacks = wanted.amount
    good = [lot for lot in left if lot.expires_on is None or lot.expires_on >= wanted.day]
    for lot in sorted(good, key=lambda lot: (lot.expires_on or date.max, lot.lot_number)):
        taken = min(lacks, left[lot])
        left[lot] -= taken
        lacks -= taken
    return lacks
