"""What goes on each truck: product by lot, water, gear and signs.

What a truck carries of a product already is used before what lies elsewhere, and within each the
lot that expires first.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import groupby
from types import MappingProxyType

from treatments.rules.facts import LotFacts
from treatments.rules.findings import Finding, Severity, gettext_noop

Aboard = Mapping[tuple[str, str], Decimal]  # what a truck carries, by product and lot number
NOTHING: Aboard = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class ProductNeed:
    """How much of a product a stop takes, in the unit in which the store keeps it.

    adjuvant: it is added to the tank beside the products, such as a spreader
    """

    product: str
    amount: Decimal
    unit: str
    adjuvant: bool = False

    def __post_init__(self) -> None:
        if self.amount < 0:
            raise ValueError(f"The amount of {self.product} is not negative.")


@dataclass(frozen=True, slots=True)
class StopNeeds:
    """What a stop takes from the truck.

    protective_equipment: what the labels of its products ask the crew to wear
    signs: how many are posted there
    """

    key: str
    products: tuple[ProductNeed, ...] = ()
    water_gallons: Decimal = Decimal(0)
    protective_equipment: frozenset[str] = frozenset()
    signs: int = 0


@dataclass(frozen=True, slots=True)
class Draw:
    """What one stop takes from one lot."""

    stop_key: str
    product: str
    lot_number: str
    amount: Decimal
    unit: str
    adjuvant: bool
    expires_on: date | None


@dataclass(frozen=True, slots=True)
class LoadLine:
    """What a truck takes of one lot, for all its stops."""

    product: str
    lot_number: str
    amount: Decimal
    unit: str
    adjuvant: bool
    expires_on: date | None


@dataclass(frozen=True, slots=True)
class TruckLoad:
    """All that a truck takes: `lines` to fetch from the store, `draws` to know which stop uses it.

    protective_equipment: all that any of its stops asks for, in order of the alphabet
    """

    truck: str
    lines: tuple[LoadLine, ...]
    draws: tuple[Draw, ...]
    water_gallons: Decimal
    protective_equipment: tuple[str, ...]
    signs: int
    shortages: tuple[Finding, ...]


def load_trucks(
    trucks: Mapping[str, Sequence[StopNeeds]],
    lots: Sequence[LotFacts],
    day: date,
    aboard: Mapping[str, Aboard] = MappingProxyType({}),
) -> tuple[TruckLoad, ...]:
    """Return the loads of the trucks of one run; what one truck takes is gone for the next.

    trucks: the stops of each truck in the order of its route; trucks named first take first
    lots: the lots of the store; those that have expired by the day give nothing
    aboard: how much of the lots lies on a truck already

    >>> soap = ProductNeed("soap", Decimal(8), "fl oz")
    >>> lots = [LotFacts("soap", "L1", Decimal(10), None)]
    >>> stops = {"Truck 1": [StopNeeds("a", (soap,))], "Truck 2": [StopNeeds("b", (soap,))]}
    >>> first, second = load_trucks(stops, lots, date(2026, 6, 1))
    >>> first.lines[0].amount, second.lines[0].amount, len(second.shortages)
    (Decimal('8'), Decimal('2'), 1)
    """
    loads = []
    for truck, stops in trucks.items():
        load, lots = load_truck(truck, stops, lots, day, aboard.get(truck, NOTHING))
        loads.append(load)
    return tuple(loads)


def load_truck(
    truck: str,
    stops: Sequence[StopNeeds],
    lots: Sequence[LotFacts],
    day: date,
    aboard: Aboard = NOTHING,
) -> tuple[TruckLoad, tuple[LotFacts, ...]]:
    """Return a truck's load, and the lots as they are when it has been taken from them.

    >>> lots = [LotFacts("soap", "L1", Decimal(10), None)]
    >>> stop = StopNeeds("a", (ProductNeed("soap", Decimal(8), "fl oz"),))
    >>> load_truck("Truck 1", [stop], lots, date(2026, 6, 1))[1][0].balance
    Decimal('2')
    """
    draws: list[Draw] = []
    shortages: list[Finding] = []
    for stop in stops:
        for need in stop.products:
            drawn, lots = _draw(stop.key, need, lots, day, aboard)
            aboard = left_aboard(aboard, drawn)
            draws += drawn
            missing = need.amount - sum(draw.amount for draw in drawn)
            if missing > 0:
                shortages.append(_shortage(truck, stop.key, need, missing, lots, day))
    load = TruckLoad(
        truck=truck,
        lines=_lines(draws),
        draws=tuple(draws),
        water_gallons=sum((stop.water_gallons for stop in stops), start=Decimal(0)),
        protective_equipment=tuple(
            sorted(frozenset().union(*(stop.protective_equipment for stop in stops)))
        ),
        signs=sum(stop.signs for stop in stops),
        shortages=tuple(shortages),
    )
    return load, tuple(lots)


def usable_lots(product: str, lots: Iterable[LotFacts], day: date) -> list[LotFacts]:
    """Return the lots of a product that may be used on a day, the first to expire first.

    A lot is good through the day it expires on; one without such a day comes last; one that is
    empty, or counted below nothing, gives nothing until it is counted again.

    >>> old = LotFacts("soap", "L1", Decimal(10), date(2026, 5, 31))
    >>> usable_lots("soap", [old], date(2026, 6, 1))
    []
    """
    good = [
        lot
        for lot in lots
        if lot.product == product and lot.balance > 0 and not _has_expired(lot, day)
    ]
    return sorted(good, key=lambda lot: (lot.expires_on or date.max, lot.lot_number))


def left_aboard(aboard: Aboard, taken: Iterable[Draw | LoadLine]) -> Aboard:
    """Return what is still on a truck when something of it has been taken.

    >>> taken = LoadLine("soap", "L1", Decimal(8), "fl oz", False, None)
    >>> left_aboard({("soap", "L1"): Decimal(10)}, [taken])
    {('soap', 'L1'): Decimal('2')}
    """
    left = dict(aboard)
    for each in taken:
        lot = (each.product, each.lot_number)
        if lot in left:
            left[lot] = max(left[lot] - each.amount, Decimal(0))
    return left


def _draw(
    stop_key: str, need: ProductNeed, lots: Sequence[LotFacts], day: date, aboard: Aboard
) -> tuple[list[Draw], Sequence[LotFacts]]:
    draws: list[Draw] = []
    for lot, amount in _amounts(need, usable_lots(need.product, lots, day), aboard):
        draws.append(
            Draw(
                stop_key,
                need.product,
                lot.lot_number,
                amount,
                need.unit,
                need.adjuvant,
                lot.expires_on,
            )
        )
        lots = [replace(one, balance=one.balance - amount) if one is lot else one for one in lots]
    return draws, lots


def _amounts(
    need: ProductNeed, lots: Sequence[LotFacts], aboard: Aboard
) -> Iterable[tuple[LotFacts, Decimal]]:
    """Return what is taken of usable lots: first what is aboard, then what lies elsewhere."""
    carried = [
        min(lot.balance, aboard.get((lot.product, lot.lot_number), Decimal(0))) for lot in lots
    ]
    taken, wanted = [Decimal(0)] * len(lots), need.amount
    for offered in (carried, [lot.balance for lot in lots]):
        for place, most in enumerate(offered):
            amount = min(wanted, most - taken[place])
            taken[place] += amount
            wanted -= amount
    return ((lot, amount) for lot, amount in zip(lots, taken, strict=True) if amount > 0)


def _lines(draws: Sequence[Draw]) -> tuple[LoadLine, ...]:
    """Return the draws summed by lot, products before adjuvants, in order of name and expiry."""

    def lot_of(draw: Draw) -> tuple[bool, str, date, str, str]:
        expires_on = draw.expires_on or date.max
        return (draw.adjuvant, draw.product, expires_on, draw.lot_number, draw.unit)

    lines = []
    for _, same in groupby(sorted(draws, key=lot_of), key=lot_of):
        first, *others = same
        amount = first.amount + sum(draw.amount for draw in others)
        lines.append(
            LoadLine(
                first.product,
                first.lot_number,
                amount,
                first.unit,
                first.adjuvant,
                first.expires_on,
            )
        )
    return tuple(lines)


def _has_expired(lot: LotFacts, day: date) -> bool:
    return lot.expires_on is not None and lot.expires_on < day


def _shortage(
    truck: str,
    stop_key: str,
    need: ProductNeed,
    missing: Decimal,
    lots: Iterable[LotFacts],
    day: date,
) -> Finding:
    expired = [
        lot
        for lot in lots
        if lot.product == need.product and lot.balance > 0 and _has_expired(lot, day)
    ]
    facts = {
        "truck": truck,
        "stop": stop_key,
        "product": need.product,
        "amount": f"{missing.normalize():f}",
        "unit": need.unit,
        "lots": ", ".join(sorted(lot.lot_number for lot in expired)),
    }
    return replace(SHORT_BUT_EXPIRED if expired else SHORT, facts=facts)


SHORT = Finding(
    code="stock-short",
    severity=Severity.WARNING,
    sentence=gettext_noop("%(truck)s lacks %(amount)s %(unit)s of %(product)s for %(stop)s."),
    remedy=gettext_noop("Buy or fetch it, count the lots again, or put the visit off."),
    source="common practice",
)
SHORT_BUT_EXPIRED = replace(
    SHORT,
    code="stock-short-but-expired",
    sentence=gettext_noop(
        "%(truck)s lacks %(amount)s %(unit)s of %(product)s for %(stop)s; the lots %(lots)s have "
        "expired and are left in the store."
    ),
)
