"""What the courses of the next six weeks take of the store beyond what is there and free."""

from collections.abc import Iterable
from datetime import date, timedelta

from services.dispatching.crews import crews_at_work
from services.dispatching.obstacles import products_of
from services.dispatching.reading import visits_to_mix
from services.dispatching.store import free_stock
from services.dispatching.takes import Takes, takes_of
from services.models import Visit
from treatments.rules.shopping import ToBuy, Wanted, to_buy

LOOKED_AHEAD = timedelta(weeks=6)  # our own choice


def wanted_from(today: date) -> tuple[ToBuy, ...]:
    """Return what is to be bought for the open visits of six weeks that no truck is loaded for.

    What has been loaded is taken off the lots; a late visit is counted for today.
    """
    open_visits = Visit.objects.filter(
        state=Visit.State.NEEDS_ACTION,
        dispatch__isnull=True,
        planned__lte=today + LOOKED_AHEAD,
        rotation_week__product__isnull=False,
    )
    crews = crews_at_work()
    takes = [
        (max(visit.planned, today), takes_of(visit, crews, max(visit.planned, today)))
        for visit in visits_to_mix(open_visits)
    ]
    lots = free_stock(today, products_of(each for _, each in takes)).lots
    return to_buy((one for day, each in takes for one in _wanted(day, each)), lots, today)


def _wanted(day: date, takes: Takes) -> Iterable[Wanted]:
    for need in takes.products:
        yield Wanted(day, need.product, need.amount, need.unit)
