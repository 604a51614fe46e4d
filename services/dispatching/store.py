"""What is free in the store: what lots hold, less what trucks have been given and not yet used."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from django.db.models import Sum

from services.dispatching.reading import today_at_yard
from services.models import Dispatch, LoadLine
from treatments.gathering import lot_facts
from treatments.models import Lot, StockEntry
from treatments.rules.facts import LotFacts


@dataclass(frozen=True, slots=True)
class FreeStock:
    """Lots with what is free of each, and the id behind the name of each."""

    lots: tuple[LotFacts, ...]
    ids: Mapping[tuple[str, str], int]


def free_stock(
    today: date,
    products: Iterable[str],
    beside: Iterable[int] = (),
    kept: Mapping[int, Decimal] = MappingProxyType({}),
) -> FreeStock:
    """Return what is free of products, by their names, in three queries.

    today: dispatches before it hold nothing back any more
    beside: the dispatches whose own load counts as free, as they are planned anew
    kept: what is held back of lots all the same, by their ids
    """
    of_products = Lot.objects.filter(product__name__in=set(products)).select_related("product")
    lots = list(of_products.with_balance().first_expiry_first())
    held_back = _held_back(today, frozenset(beside))
    facts = []
    for lot in lots:
        lot.balance -= held_back.get(lot.pk, Decimal(0)) + kept.get(lot.pk, Decimal(0))
        facts.append(lot_facts(lot))
    ids = {(each.product, each.lot_number): lot.pk for each, lot in zip(facts, lots, strict=True)}
    return FreeStock(tuple(facts), ids)


def reserved_amounts(lots: Iterable[Lot]) -> Mapping[int, Decimal]:
    """Return what trucks were given of lots and have not yet applied, by the lot's id."""
    wanted = {lot.pk for lot in lots}
    held_back = _held_back(today_at_yard(), frozenset())
    return {lot: amount for lot, amount in held_back.items() if lot in wanted and amount}


def _held_back(today: date, beside: frozenset[int]) -> dict[int, Decimal]:
    """Return what trucks were given of each lot and have not yet applied."""
    lines = LoadLine.objects.filter(dispatch__day__gte=today).exclude(dispatch__in=beside)
    used = _used(today)
    held: dict[int, Decimal] = defaultdict(Decimal)
    for dispatch, lot, amount in lines.values_list("dispatch_id", "lot_id", "amount"):
        held[lot] += max(amount - used.get((dispatch, lot), Decimal(0)), Decimal(0))
    return held


def _used(today: date) -> dict[tuple[int, int], Decimal]:
    # The few routes first: no database reads the whole ledger for them.
    routes = list(Dispatch.objects.filter(day__gte=today).values_list("pk", flat=True))
    entries = StockEntry.objects.filter(
        kind=StockEntry.Kind.APPLIED, record__visits__dispatch__in=routes
    )
    rows = entries.values_list("record__visits__dispatch", "lot").annotate(used=-Sum("amount"))
    return {(dispatch, lot): used for dispatch, lot, used in rows.order_by()}
