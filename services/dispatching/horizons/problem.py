"""What is to be planned on the days of a horizon, read from the book."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from services.dispatching.clock import DayClock
from services.dispatching.crews import crews_at_work, key_of_crew
from services.dispatching.drafting import has_begun, what_was_seen
from services.dispatching.horizons.allowing import days_and_reasons
from services.dispatching.horizons.horizon import Horizon
from services.dispatching.horizons.making import begun_stops, shifts_of, stops_to_make
from services.dispatching.obstacles import Known, products_of, what_is_known
from services.dispatching.reading import today_at_yard, visits_to_plan
from services.dispatching.stops import work_leg
from services.dispatching.store import FreeStock, free_stock
from services.models import Crew, Visit
from services.routes import load_of
from services.rules.plans import CrewShift, Stop
from services.rules.routing import Search
from services.travelling import Travelled, travel_between
from treatments.rules.findings import Finding


@dataclass(frozen=True, slots=True)
class Problem:
    """What the search for the plan of a horizon is given, and what it was read from.

    visits, left_out: by the id of the visit; left_out are those that cannot go, with the reason
    crews: by the key of the crew
    seen: what must still be so when the plan is written
    """

    horizon: Horizon
    visits: Mapping[int, Visit]
    known: Known
    lots: FreeStock
    crews: Mapping[str, Crew]
    clocks: Mapping[date, DayClock]
    stops: tuple[Stop, ...]
    shifts: tuple[CrewShift, ...]
    left_out: Mapping[int, Finding]
    travel: Travelled
    seen: tuple

    def without(self, reasons: Mapping[int, Finding]) -> "Problem":
        """Return the same with some visits left out that had seemed to be possible."""
        stops = tuple(stop for stop in self.stops if int(stop.key) not in reasons)
        return replace(self, stops=stops, left_out={**self.left_out, **reasons})

    def search(self) -> Search:
        """Return the search for its plan."""
        return Search(self.stops, self.shifts, travel=self.travel)


def problem_of(horizon: Horizon, now: datetime) -> Problem:
    """Return what is to be planned on some days: what is chosen, and what has a route on them."""
    visits = visits_of(horizon)
    crews = [crew for crew in crews_at_work() if horizon.yard in (None, crew.yard_id)]
    known = what_is_known(visits, today_at_yard(now), crews)
    zone = next((crew.yard.time_zone for crew in known.crews), "UTC")
    clocks = {day: DayClock(day, zone) for day in horizon.days()}
    lots = stock_of(visits, known)
    days, left_out = days_and_reasons(visits, horizon, known, lots)
    begun = [visit for visit in visits if has_begun(visit)]
    may_go = [visit for visit in visits if visit.pk in days]
    stops = (
        *begun_stops(begun, horizon, known, clocks),
        *stops_to_make(may_go, days, horizon, known, clocks, now),
    )
    return Problem(
        horizon=horizon,
        visits={visit.pk: visit for visit in visits},
        known=known,
        lots=lots,
        crews={key_of_crew(crew): crew for crew in known.crews},
        clocks=clocks,
        stops=stops,
        shifts=tuple(shifts_of(horizon, known.crews, clocks, stops, begun, now)),
        left_out=left_out,
        travel=travel_between({crew.yard for crew in known.crews}, now),
        seen=what_was_seen(visits, lots),
    )


def visits_of(horizon: Horizon) -> list[Visit]:
    """Return the chosen visits and those on the routes of the days.

    What was begun by a crew that is not there stays with it and is no part of the plan.
    """
    routes = Visit.objects.filter(dispatch__day__range=(horizon.first, horizon.last))
    if horizon.yard is not None:
        routes = routes.filter(dispatch__crew__yard=horizon.yard)
    return [
        visit
        for visit in visits_to_plan({*horizon.chosen, *routes.values_list("pk", flat=True)})
        if not has_begun(visit) or horizon.is_with_a_crew(visit)
    ]


def stock_of(visits: Iterable[Visit], known: Known) -> FreeStock:
    """Return what is free for the routes: their own loads are, save what is being applied."""
    beside = {visit.dispatch_id for visit in visits if visit.dispatch_id is not None}
    begun = Visit.objects.filter(dispatch__in=beside, state=Visit.State.IN_PROCESS)
    applying = [work_leg(each.dispatch, each) or {} for each in begun.select_related("dispatch")]
    products = products_of(known.takes.values())
    return free_stock(known.today, products, beside=beside, kept=load_of(applying))
