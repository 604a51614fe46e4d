"""Plans the routes of a day or of some days, and checks and explains what comes out."""

from collections.abc import Sequence

from services.rules.plans import CrewShift, Plan, Stop, Travel
from services.rules.routing.searching import SEED, Search
from services.rules.travel import road_matrix


def plan_day(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    *,
    seed: int = SEED,
    iterations: int | None = None,
    travel: Travel = road_matrix,
) -> Plan:
    """Return the routes of a day, by the least driving and the least counted for stops left out.

    seed, iterations: the same ones give the same plan
    travel: gives seconds and meters between points
    Raises ImpossiblePlan where two stops or two shifts share a key.

    >>> from services.rules.travel import Point
    >>> yard, bed = Point(40.0, -83.0), Point(40.02, -83.0)
    >>> crew = CrewShift("Crew A", yard, starts=7 * 3600, ends=15 * 3600)
    >>> plan = plan_day([Stop("roses", bed, ((8 * 3600, 9 * 3600),), 1800)], [crew], iterations=10)
    >>> [halt.starts // 3600 for halt in plan.routes[0].stops], plan.left_out
    ([8], ())
    """
    return plan_days(stops, shifts, seed=seed, iterations=iterations, travel=travel)


def plan_days(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    *,
    seed: int = SEED,
    iterations: int | None = None,
    travel: Travel = road_matrix,
) -> Plan:
    """Return the routes of several days: a window for each day of a stop, a shift for each day.

    Times of all days count from 00:00 of the first.  See `plan_day` for the rest.
    """
    search = Search(stops, shifts, seed=seed, iterations=iterations, travel=travel)
    *_, last = search.steps()
    return search.plan(last.tours)
