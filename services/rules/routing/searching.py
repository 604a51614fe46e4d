"""The search for a plan, step by step: whatever the moment it is stopped, there is a plan.

A few days are sought as a whole; a big week two days at a time, with every stop that may go on
either, and what costs more than before is thrown away.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from services.rules.plan_checking import check_plan, plan_cost
from services.rules.plans import DAY, CrewShift, ImpossiblePlan, LeftOut, Plan, Stop, Travel
from services.rules.routing.copies import Effort, workable_copies
from services.rules.routing.greedy import Tours, insert_all, straightened, tours_cost
from services.rules.routing.ground import Ground, ground_of
from services.rules.routing.grouping import grouped
from services.rules.routing.reasons import why_left_out
from services.rules.routing.timetable import (
    REFILL,
    Call,
    carries,
    timetable,
    with_refills,
    with_room_for_lunch,
)
from services.rules.travel import road_matrix

ITERATIONS = 400
PAIR_ITERATIONS = 300
SEED = 1
SEARCHES = 3
TURNS = 3  # how often more than a few stops are sought as a whole; measured
FEW = 40  # stops that one turn settles; measured
ROUNDS = 4  # how often each two days are sought together; our own choice
MOST_AT_ONCE = 100  # above so many stops a week is sought two days at a time; measured


@dataclass(frozen=True, slots=True)
class Step:
    """How far a search is, and the tours it has come to; `Search.plan` makes a plan of them."""

    number: int
    of: int
    tours: Tours
    cost_seconds: int
    left_out: int


class Search:
    """The search for the plan of some days, which may be stopped after any step.

    seed, iterations: the same ones give the same steps, unless `seconds` cut a search short
    seconds: the longest that one search of the days, or of two of them, runs
    travel: gives seconds and meters between points
    Raises ImpossiblePlan where two stops or two shifts share a key.

    >>> from services.rules.travel import Point
    >>> yard, bed = Point(40.0, -83.0), Point(40.02, -83.0)
    >>> crew = CrewShift("Crew A", yard, starts=7 * 3600, ends=15 * 3600)
    >>> search = Search([Stop("roses", bed, ((8 * 3600, 9 * 3600),), 1800)], [crew], iterations=10)
    >>> [step.left_out for step in search.steps()]
    [0, 0]
    """

    def __init__(
        self,
        stops: Sequence[Stop],
        shifts: Sequence[CrewShift],
        *,
        seed: int = SEED,
        iterations: int | None = None,
        seconds: float | None = None,
        travel: Travel = road_matrix,
    ) -> None:
        self.stops = _by_key(stops)
        self.shifts = _by_key(shifts)
        self.seed, self.travel = seed, travel
        self.iterations, self.seconds = iterations, seconds
        self.ground = ground_of(self.stops, self.shifts, travel)
        self.group = grouped(self.stops, self.shifts, self.ground)
        self.workable = _workable(self.group.stops, self.shifts, self.ground)

    def steps(self, start: Tours | None = None, done: int = 0) -> Iterator[Step]:
        """Yield the first tours, then what each step of the search makes of them.

        start: tours to begin with, such as `inserted` gives them, or None to begin from nothing
        done: the number of the step that came to these tours, where a search is taken up again
        """
        days = sorted({shift.starts // DAY for shift in self.shifts})
        is_whole = len(self.workable) <= MOST_AT_ONCE or len(days) < 3
        pairs = [] if is_whole else list(combinations(days, 2))
        turns = 1 if len(self.workable) <= FEW else TURNS
        of = turns * SEARCHES if is_whole else ROUNDS * len(pairs)
        tours = self._first() if start is None else self.group.together(start)
        yield self._step(done, of, tours)
        found = (
            self._whole(tours, turns, done) if is_whole else self._two_by_two(tours, pairs, done)
        )
        for number, tours in enumerate(found, start=done + 1):
            yield self._step(min(number, of), of, tours)

    def inserted(self, start: Tours) -> Tours:
        """Return tours in which all stays as it is, and what is in none is put in where it fits.

        Only what a shift has no time for any more is taken out of it.
        """
        kept = {s.key: _timely(s, start.get(s.key, ()), self.ground) for s in self.shifts}
        return self._with_missed(kept)

    def plan(self, tours: Tours) -> Plan:
        """Return the plan of tours, checked; raise ImpossiblePlan where it does not hold."""
        apart = self._with_missed(self.group.apart(tours))
        plan = _plan_of(apart, self.stops, self.shifts, self.ground)
        faults = check_plan(plan, self.stops, self.shifts, travel=self.travel)
        if faults:
            raise ImpossiblePlan(" ".join(fault.say() for fault in faults))
        if plan.cost_seconds != plan_cost(plan, self.stops, self.shifts, travel=self.travel):
            raise ImpossiblePlan("The plan does not cost what it says.")
        return plan

    def keys_of(self, tours: Tours) -> dict[str, list[str]]:
        """Return tours as the keys of their stops, with "" for a refill, to be kept as text."""
        apart = self.group.apart(tours)
        return {key: [call.key if call else "" for call in calls] for key, calls in apart.items()}

    def tours_of(self, keys: Mapping[str, Iterable[str]]) -> Tours:
        """Return the tours of keys; shifts and stops that are not there any more are left out."""
        stop_of = {stop.key: stop for stop in self.stops}
        return {
            shift.key: tuple(
                stop_of.get(key, REFILL)
                for key in keys.get(shift.key, ())
                if key == "" or key in stop_of
            )
            for shift in self.shifts
        }

    def _first(self) -> Tours:
        tours = insert_all(self.workable, {}, self.shifts, self.ground)
        return straightened(tours, self.shifts, self.ground)

    def _whole(self, tours: Tours, turns: int, done: int) -> Iterator[Tours]:
        best, cost = tours, self._cost(tours)
        for turn in range(min(done // SEARCHES, turns - 1), turns):
            effort = Effort(self.seed + turn, self.iterations or ITERATIONS, self.seconds)
            for found in searched(self.workable, self.shifts, self.ground, best, effort):
                if self._cost(found) < cost:
                    best, cost = found, self._cost(found)
                yield best

    def _two_by_two(self, tours: Tours, pairs: list[tuple[int, int]], done: int) -> Iterator[Tours]:
        for number, pair in list(enumerate(ROUNDS * pairs))[done:]:
            bettered = self._with_days_bettered(tours, pair, self.seed + number)
            if self._cost(bettered) <= self._cost(tours):
                tours = bettered
            yield tours

    def _with_days_bettered(self, tours: Tours, days: Iterable[int], seed: int) -> Tours:
        """Return the tours with those of some days sought anew, with what they had left out."""
        shifts = [shift for shift in self.shifts if shift.starts // DAY in set(days)]
        ours = {shift.key for shift in shifts}
        elsewhere = _made({key: calls for key, calls in tours.items() if key not in ours})
        free = [stop for stop in self.workable if stop.key not in elsewhere]
        stops = _workable(free, shifts, self.ground)
        start = {key: tours[key] for key in ours}
        effort = Effort(seed, self.iterations or PAIR_ITERATIONS, self.seconds, is_brisk=True)
        candidates = [start, *searched(stops, shifts, self.ground, start, effort)]
        best = min(candidates, key=lambda found: tours_cost(found, stops, shifts, self.ground))
        return {**tours, **best}

    def _with_missed(self, tours: Tours) -> Tours:
        workable = _workable(self.stops, self.shifts, self.ground)
        return _with_missed(tours, workable, self.shifts, self.ground)

    def _cost(self, tours: Tours) -> int:
        return tours_cost(tours, self.workable, self.shifts, self.ground)

    def _step(self, number: int, of: int, tours: Tours) -> Step:
        left_out = len(self.group.stops) - len(_made(tours))
        return Step(number, of, tours, self._cost(tours), left_out)


def searched(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    ground: Ground,
    tours: Tours,
    effort: Effort,
) -> Iterator[Tours]:
    """Yield the tours of some searches, each leaving room for lunch where the last did not.

    The search knows nothing of lunch, and a shift made shorter throughout would lose stops for
    which there is time; the last search shortens all, lest one lunch spoil what others gained.
    """
    # The engine comes with the first plan that is made: no page needs it.
    from services.rules.routing.model import improved

    hurried: set[str] = set()
    for number in range(SEARCHES):
        asked = [with_room_for_lunch(s) if s.key in hurried else s for s in shifts]
        start = {s.key: _timely(s, tours[s.key], ground) for s in asked}
        found = improved(stops, asked, ground, start, effort)
        late = {s.key for s in shifts if not timetable(s, found[s.key], ground)}
        kept = {s.key: _timely(s, found[s.key], ground) for s in shifts}
        bettered = _with_missed(kept, stops, shifts, ground)
        yield bettered
        if late <= hurried:
            break
        tours = min(tours, bettered, key=lambda each: tours_cost(each, stops, shifts, ground))
        hurried = hurried | late if number + 2 < SEARCHES else {s.key for s in shifts}


def _by_key(things: Sequence) -> list:
    ordered = sorted(things, key=lambda thing: thing.key)
    if len({thing.key for thing in ordered}) < len(ordered):
        raise ImpossiblePlan("Every stop and every shift has a key of its own.")
    return ordered


def _workable(stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground) -> list[Stop]:
    keys = {copy.stop.key for copy in workable_copies(stops, shifts, ground)}
    return [stop for stop in stops if stop.key in keys]


def _timely(shift: CrewShift, calls: Sequence[Call], ground: Ground) -> tuple[Call, ...]:
    """Return the calls without those for which there is no time, the least counted first.

    Where the tank runs dry because of what is rinsed, of which the search knows nothing, it is
    filled oftener.  A shift that is left with a refill alone has no calls.
    """
    calls = tuple(calls if carries(shift, calls) else with_refills(shift, calls))
    while any(calls) and timetable(shift, calls, ground) is None:
        least = min((call for call in calls if call), key=lambda stop: (stop.prize(), stop.key))
        calls = tuple(call for call in calls if call is not least)
    return calls if any(calls) else ()


def _with_missed(
    tours: Tours, stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> dict[str, tuple[Call, ...]]:
    made = _made(tours)
    missed = [stop for stop in stops if stop.key not in made]
    return insert_all(missed, tours, shifts, ground)


def _made(tours: Tours) -> set[str]:
    return {call.key for calls in tours.values() for call in calls if call}


def _plan_of(
    tours: Tours, stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> Plan:
    made = _made(tours)
    routes = [
        timetable(shift, tours[shift.key], ground) for shift in shifts if any(tours[shift.key])
    ]
    left_out = [
        LeftOut(stop.key, why_left_out(stop, tours, shifts, ground))
        for stop in stops
        if stop.key not in made
    ]
    cost = tours_cost(tours, stops, shifts, ground)
    return Plan(routes=tuple(filter(None, routes)), left_out=tuple(left_out), cost_seconds=cost)
