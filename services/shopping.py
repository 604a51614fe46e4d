"""What the courses of the next six weeks take of the store beyond what is there and free."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from services.dispatching.crews import crews_at_work
from services.dispatching.obstacles import products_of
from services.dispatching.reading import visits_to_mix
from services.dispatching.store import free_stock
from services.dispatching.takes import Takes, takes_by_visit
from services.models import Visit
from treatments.rules.facts import LotFacts
from treatments.rules.shopping import ToBuy, Wanted, to_buy

LOOKED_AHEAD = timedelta(weeks=6)  # our own choice


def wanted_from(today: date) -> tuple[ToBuy, ...]:
    """Return what is to be bought for the open visits of six weeks that no truck is loaded for.

    What has been loaded is taken off the lots; a late visit is counted for today.
    """
    days = days_to_serve(today)
    takes = takes_by_visit(visits_to_mix(days.keys()), crews_at_work(), today)
    return lacking(days, takes, free_stock(today, products_of(takes.values())).lots, today)


def days_to_serve(today: date) -> dict[int, date]:
    """Return the days of the visits that the store is to serve, by their ids, urgent ones first."""
    open_visits = Visit.objects.filter(
        state=Visit.State.NEEDS_ACTION,
        dispatch__isnull=True,
        planned__lte=today + LOOKED_AHEAD,
        rotation_week__product__isnull=False,
    )
    urgent_first = open_visits.order_by("latest", "planned", "pk")
    return {pk: max(day, today) for pk, day in urgent_first.values_list("pk", "planned")}


def lacking(
    days: Mapping[int, date], takes: Mapping[int, Takes], lots: Sequence[LotFacts], today: date
) -> tuple[ToBuy, ...]:
    """Return what is to be bought for visits, given what each takes and what is free."""
    return to_buy((one for pk, day in days.items() for one in _wanted(day, takes[pk])), lots, today)


def _wanted(day: date, takes: Takes) -> Iterable[Wanted]:
    for need in takes.products:
        yield Wanted(day, need.product, need.amount, need.unit)
