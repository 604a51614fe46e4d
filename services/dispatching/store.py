"""What is free in the store: what lots hold, less what trucks have been given and not yet used."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from django.db.models import Sum

from services.dispatching.reading import today_at_yard
from services.models import Crew, Dispatch, LoadLine
from services.rules.loading import Aboard
from treatments.gathering import lot_facts
from treatments.models import Lot, StockEntry
from treatments.rules.facts import LotFacts
from treatments.storekeeping import Carried, carried


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
    """Return what is free of products, by their names, in a fixed number of queries.

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


def already_aboard(
    today: date, on_trucks: Mapping[int, Iterable[Carried]]
) -> Mapping[tuple[int, int], Decimal]:
    """Return what of each load its own truck carries already, by the ids of dispatch and lot.

    What was moved to a truck by hand serves its earliest day first, as far as that has not applied
    it yet.
    on_trucks: what trucks carry of each lot, by its id
    """
    left = {
        (each.locker, lot): each.amount
        for lot, carriers in on_trucks.items()
        for each in carriers
        if each.amount > 0
    }
    if not left:
        return {}
    routes = _routes_from(today)
    lines = LoadLine.objects.filter(dispatch__in=routes, lot__in={lot for _, lot in left})
    used, aboard = _used(routes), {}
    for dispatch, locker, lot, amount in lines.order_by("dispatch__day", "dispatch").values_list(
        "dispatch", "dispatch__crew__truck__locker", "lot", "amount"
    ):
        wanted = max(amount - used.get((dispatch, lot), Decimal(0)), Decimal(0))
        if share := min(wanted, left.get((locker, lot), Decimal(0))):
            aboard[dispatch, lot] = share
            left[locker, lot] -= share
    return aboard


def aboard_of(crews: Mapping[str, Crew], lots: FreeStock) -> Mapping[str, Aboard]:
    """Return what the truck of each crew carries of lots, by the key of the crew."""
    names = {pk: name for name, pk in lots.ids.items()}
    aboard: dict[int, dict[tuple[str, str], Decimal]] = defaultdict(dict)
    for lot, carriers in carried().items():
        for each in carriers:
            if lot in names and each.amount > 0:
                aboard[each.locker][names[lot]] = each.amount
    trucks = {key: getattr(crew, "truck", None) for key, crew in crews.items()}
    return {key: aboard[truck.locker_id] for key, truck in trucks.items() if truck is not None}


def note_what_is_aboard(dispatches: Iterable[Dispatch]) -> None:
    """Note on the load lines of dispatches what their trucks, and others, carry already."""
    on_trucks = carried()
    aboard = already_aboard(today_at_yard(), on_trucks)
    for dispatch in dispatches:
        truck = getattr(dispatch.crew, "truck", None)
        own = truck.locker_id if truck else None
        for line in dispatch.load.all():
            line.aboard = aboard.get((dispatch.pk, line.lot_id), Decimal(0))
            others = on_trucks.get(line.lot_id, ())
            line.elsewhere = tuple(each for each in others if each.locker != own)


def _held_back(today: date, beside: frozenset[int]) -> dict[int, Decimal]:
    """Return what trucks were given of each lot and have not yet applied."""
    held: dict[int, Decimal] = defaultdict(Decimal)
    routes = _routes_from(today)
    if not routes:
        return held
    lines = LoadLine.objects.filter(dispatch__in=routes - beside).order_by()
    used = _used(routes)
    for dispatch, lot, amount in lines.values_list("dispatch_id", "lot_id", "amount"):
        held[lot] += max(amount - used.get((dispatch, lot), Decimal(0)), Decimal(0))
    return held


def _routes_from(today: date) -> frozenset[int]:
    """Return the few routes first: no database reads the whole ledger for them."""
    return frozenset(Dispatch.objects.filter(day__gte=today).values_list("pk", flat=True))


def _used(routes: Iterable[int]) -> dict[tuple[int, int], Decimal]:
    """Return what routes have applied of each lot."""
    entries = StockEntry.objects.filter(
        kind=StockEntry.Kind.APPLIED, record__visits__dispatch__in=routes
    )
    rows = entries.values_list("record__visits__dispatch", "lot").annotate(used=-Sum("amount"))
    return {(dispatch, lot): used for dispatch, lot, used in rows.order_by()}
