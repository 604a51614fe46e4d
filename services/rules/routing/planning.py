"""Plans the routes of a day or of some days, and checks and explains what comes out."""

from collections.abc import Sequence

from services.rules.plan_checking import check_plan
from services.rules.plans import (
    CrewShift,
    ImpossiblePlan,
    LeftOut,
    Plan,
    Stop,
    Travel,
)
from services.rules.routing.greedy import Tours, insert_all, straightened, tours_cost
from services.rules.routing.ground import Ground, ground_of
from services.rules.routing.grouping import grouped
from services.rules.routing.model import improved, workable_copies
from services.rules.routing.reasons import why_left_out
from services.rules.routing.timetable import Call, timetable, with_room_for_lunch
from services.rules.travel import road_matrix

ITERATIONS = 400
SEED = 1
SEARCHES = 3


def plan_day(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    *,
    seed: int = SEED,
    iterations: int = ITERATIONS,
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
    iterations: int = ITERATIONS,
    travel: Travel = road_matrix,
) -> Plan:
    """Return the routes of several days: a window for each day of a stop, a shift for each day.

    Times of all days count from 00:00 of the first.  See `plan_day` for the rest.
    """
    stops = _by_key(stops)
    shifts = _by_key(shifts)
    ground = ground_of(stops, shifts, travel)
    group = grouped(stops, shifts, ground)
    workable = _workable(group.stops, shifts, ground)
    tours = group.apart(_best_tours(workable, shifts, ground, seed, iterations))
    tours = _with_missed(tours, _workable(stops, shifts, ground), shifts, ground)
    plan = _plan_of(tours, stops, shifts, ground)
    faults = check_plan(plan, stops, shifts, travel=travel)
    if faults:
        raise ImpossiblePlan(" ".join(fault.say() for fault in faults))
    return plan


def _by_key(things: Sequence) -> list:
    ordered = sorted(things, key=lambda thing: thing.key)
    if len({thing.key for thing in ordered}) < len(ordered):
        raise ImpossiblePlan("Every stop and every shift has a key of its own.")
    return ordered


def _workable(stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground) -> list[Stop]:
    keys = {copy.stop.key for copy in workable_copies(stops, shifts, ground)}
    return [stop for stop in stops if stop.key in keys]


def _best_tours(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    ground: Ground,
    seed: int,
    iterations: int,
) -> Tours:
    """Return the best of some searches, each leaving room for lunch where the one before did not.

    The search knows nothing of lunch, and a shift made shorter throughout would lose stops for
    which there is time.
    """
    tours = straightened(insert_all(stops, {}, shifts, ground), shifts, ground)
    candidates: list[Tours] = [tours]
    hurried: set[str] = set()
    for _ in range(SEARCHES):
        asked = [with_room_for_lunch(s) if s.key in hurried else s for s in shifts]
        found = improved(
            stops,
            asked,
            ground,
            _start(tours, stops, asked, ground),
            seed=seed,
            iterations=iterations,
        )
        late = {s.key for s in shifts if not timetable(s, found[s.key], ground)}
        kept = {s.key: _with_lunch(s, found[s.key], ground) for s in shifts}
        tours = _with_missed(kept, stops, shifts, ground)
        candidates.append(tours)
        if late <= hurried:
            break
        hurried |= late
    return min(candidates, key=lambda tours: tours_cost(tours, stops, shifts, ground))


def _start(
    tours: Tours, stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> Tours:
    """Return the tours that the shifts have time for, and the missed stops put in anew."""
    timely = {s.key: tours[s.key] if timetable(s, tours[s.key], ground) else () for s in shifts}
    return _with_missed(timely, stops, shifts, ground)


def _with_lunch(shift: CrewShift, calls: Sequence[Call], ground: Ground) -> tuple[Call, ...]:
    """Return the calls without those that leave no room for lunch, the least counted first."""
    calls = tuple(calls)
    while timetable(shift, calls, ground) is None:
        least = min((call for call in calls if call), key=lambda stop: (stop.prize(), stop.key))
        calls = tuple(call for call in calls if call is not least)
    return calls


def _with_missed(
    tours: Tours, stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> dict[str, tuple[Call, ...]]:
    made = {call.key for calls in tours.values() for call in calls if call}
    missed = [stop for stop in stops if stop.key not in made]
    return insert_all(missed, tours, shifts, ground)


def _plan_of(
    tours: Tours, stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> Plan:
    made = {call.key for calls in tours.values() for call in calls if call}
    routes = [timetable(shift, tours[shift.key], ground) for shift in shifts if tours[shift.key]]
    left_out = [
        LeftOut(stop.key, why_left_out(stop, tours, shifts, ground))
        for stop in stops
        if stop.key not in made
    ]
    cost = tours_cost(tours, stops, shifts, ground)
    return Plan(routes=tuple(filter(None, routes)), left_out=tuple(left_out), cost_seconds=cost)
