"""What the courses of the next six weeks take of the store beyond what is there and free."""

from collections.abc import Iterable, Mapping, Sequence, Set
from datetime import date, timedelta
from types import MappingProxyType

from services.dispatching.crews import crews_at_work
from services.dispatching.obstacles import products_of
from services.dispatching.reading import visits_to_mix
from services.dispatching.store import free_stock
from services.dispatching.takes import Takes, takes_of
from services.models import Crew, Visit
from treatments.rules.shopping import ToBuy, Wanted, to_buy

LOOKED_AHEAD = timedelta(weeks=6)  # our own choice


def wanted_from(
    today: date,
    known: Mapping[int, Takes] = MappingProxyType({}),
    crews: Sequence[Crew] | None = None,
) -> tuple[ToBuy, ...]:
    """Return what is to be bought for the open visits of six weeks that no truck is loaded for.

    What has been loaded is taken off the lots; a late visit is counted for today.
    known: what visits take, by their ids, where that was reckoned already
    crews: those at work, where they were read already
    """
    open_visits = Visit.objects.filter(
        state=Visit.State.NEEDS_ACTION,
        dispatch__isnull=True,
        planned__lte=today + LOOKED_AHEAD,
        rotation_week__product__isnull=False,
    )
    urgent_first = open_visits.order_by("latest", "planned", "pk")
    days = {pk: max(day, today) for pk, day in urgent_first.values_list("pk", "planned")}
    takes = {**known, **_takes(days.keys() - known.keys(), today, crews)}
    lots = free_stock(today, products_of(takes[pk] for pk in days)).lots
    return to_buy((one for pk, day in days.items() for one in _wanted(day, takes[pk])), lots, today)


def _takes(ids: Set[int], today: date, crews: Sequence[Crew] | None) -> dict[int, Takes]:
    if not ids:
        return {}
    crews = crews_at_work() if crews is None else crews
    return {
        visit.pk: takes_of(visit, crews, max(visit.planned, today))
        for visit in visits_to_mix(Visit.objects.filter(pk__in=ids))
    }


def _wanted(day: date, takes: Takes) -> Iterable[Wanted]:
    for need in takes.products:
        yield Wanted(day, need.product, need.amount, need.unit)
