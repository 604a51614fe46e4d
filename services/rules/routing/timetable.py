"""Walks a crew through its calls by the clock: driving, waiting, work, refills and lunch."""

from collections.abc import Sequence
from dataclasses import replace

from services.rules.plans import (
    CrewShift,
    Halt,
    HaltKind,
    Route,
    Stop,
    stop_units,
    tank_units,
)
from services.rules.routing.ground import Ground
from services.rules.travel import Point

REFILL = None
Call = Stop | None  # a stop, or REFILL at the yard


def timetable(shift: CrewShift, calls: Sequence[Call], ground: Ground) -> Route | None:
    """Return the route that makes the calls in order, its lunch included, or None if none can."""
    if not carries(shift, calls) or not all(can_do(shift, call) for call in calls if call):
        return None
    plain = walk(shift, calls, ground)
    if plain is None or shift.lunch_window() is None:
        return plain
    with_lunch = (walk(shift, calls, ground, after) for after in range(len(calls) + 2))
    return min(filter(None, with_lunch), key=lambda route: route.returns, default=None)


def walk(
    shift: CrewShift, calls: Sequence[Call], ground: Ground, lunch_after: int | None = None
) -> Route | None:
    """Return the earliest route that makes the calls in order, or None where one comes too late.

    lunch_after: after how many calls the break is taken: 0 is before leaving the yard, one more
        than there are calls after the return, None never
    """
    steps, rinses = _Walk(shift, ground), rinses_after(calls)
    steps.eat(lunch_after == 0)
    leaves = steps.clock = _departure(shift, calls, steps.clock, ground)
    for number, call in enumerate(calls, start=1):
        steps.make(call)
        if call and number - 1 in rinses:
            steps.rinse(call)
        steps.eat(lunch_after == number)
        if not steps.in_time:
            return None
    back, back_metres = steps.drive(shift.yard)
    returns = steps.clock
    steps.in_time &= returns <= shift.ends
    steps.eat(lunch_after == len(calls) + 1)
    if not steps.in_time:
        return None
    return Route(shift.key, leaves, tuple(steps.halts), returns, back, back_metres)


class _Walk:
    """A crew on its way: what its clock shows, where it stands, and whether it is in time."""

    def __init__(self, shift: CrewShift, ground: Ground) -> None:
        self.shift, self.ground = shift, ground
        self.clock, self.place = shift.starts, shift.yard
        self.halts: list[Halt] = []
        self.in_time = True

    def drive(self, goal: Point) -> tuple[int, int]:
        """Go to a point and return the seconds and meters of the way."""
        way = self.ground.seconds(self.place, goal), self.ground.metres(self.place, goal)
        self.clock += way[0]
        self.place = goal
        return way

    def make(self, call: Call) -> None:
        """Go where a call is and do it."""
        drive = self.drive(call.point if call else self.shift.yard)
        starts = _start(call, self.clock) if call else self.clock
        if starts is None:
            self.in_time = False
            return
        kind = HaltKind.STOP if call else HaltKind.REFILL
        duration = call.service_seconds if call else self.shift.refill_seconds
        self._halt(kind, call.key if call else "", starts, starts + duration, drive)

    def rinse(self, stop: Stop) -> None:
        """Rinse the sprayer where it was used."""
        ends = self.clock + stop.rinse_seconds
        self._halt(HaltKind.RINSE, stop.key, self.clock, ends, (0, 0))

    def eat(self, is_time: bool) -> None:
        """Take the break, if it is time for it."""
        if not is_time:
            return
        opens, closes = self.shift.lunch_window() or (0, -1)
        starts = max(self.clock, opens)
        self.in_time &= starts <= closes
        self._halt(HaltKind.LUNCH, "", starts, starts + self.shift.lunch_seconds, (0, 0))

    def _halt(
        self, kind: HaltKind, key: str, starts: int, leaves: int, drive: tuple[int, int]
    ) -> None:
        self.halts.append(Halt(kind, key, self.clock, starts, leaves, *drive))
        self.clock = leaves


def carries(shift: CrewShift, calls: Sequence[Call]) -> bool:
    """Say whether the tank holds what is drawn between its refills, and these are not too many."""
    if sum(call is REFILL for call in calls) > shift.maximum_refills:
        return False
    tank = left = tank_units(shift.tank_gallons)
    rinses = rinses_after(calls)
    for place, call in enumerate(calls):
        left = tank if call is REFILL else left - drawn(call, is_rinsed=place in rinses)
        if left < 0:
            return False
    return True


def with_refills(shift: CrewShift, calls: Sequence[Call]) -> list[Call]:
    """Return the stops of the calls with a refill before each that the tank no longer serves."""
    tank = left = tank_units(shift.tank_gallons)
    filled: list[Call] = []
    stops = list(filter(None, calls))
    rinses = rinses_after(stops)
    for place, stop in enumerate(stops):
        takes = drawn(stop, is_rinsed=place in rinses)
        if takes > left:
            filled.append(REFILL)
            left = tank
        filled.append(stop)
        left -= takes
    return filled


def drawn(stop: Stop, *, is_rinsed: bool) -> int:
    """Return what a stop draws from the tank, in the plan's units, with the rinse after it."""
    rinse = stop_units(stop.rinse_gallons) if is_rinsed else 0
    return stop_units(stop.spray_gallons) + rinse


def rinses_after(calls: Sequence[Call]) -> frozenset[int]:
    """Return the places of the stops after which the sprayer is rinsed.

    Where the next stop that sprays takes another mix.  A truck with a second sprayer might do
    without: the plan reckons as if all were sprayed with one.
    """
    places, last = [], None
    for place, call in enumerate(calls):
        if call is None or not call.mix:
            continue
        if last is not None and last[1] != call.mix:
            places.append(last[0])
        last = place, call.mix
    return frozenset(places)


def with_room_for_lunch(shift: CrewShift) -> CrewShift:
    """Return the shift without the time of its break, for a search that knows of no break.

    A crew that comes late in the morning eats first; another is given a shorter end of its day.
    """
    window = shift.lunch_window()
    if window is None:
        return shift
    after_lunch = window[0] + shift.lunch_seconds
    if after_lunch - shift.starts <= 2 * shift.lunch_seconds:
        return replace(shift, starts=after_lunch, lunch_seconds=0)
    return replace(shift, ends=shift.ends - shift.lunch_seconds, lunch_seconds=0)


def can_do(shift: CrewShift, stop: Stop) -> bool:
    """Say whether the crew has the certificates and equipment that the stop needs."""
    return stop.needs <= shift.has


def _start(stop: Stop, arrives: int) -> int | None:
    """Return the first second from arrival on at which the work may start."""
    return min(
        (max(opens, arrives) for opens, closes in stop.windows if arrives <= closes), default=None
    )


def _departure(shift: CrewShift, calls: Sequence[Call], clock: int, ground: Ground) -> int:
    """Return when to leave the yard so as not to wait at the first stop."""
    if not calls or calls[0] is REFILL:
        return clock
    drive = ground.seconds(shift.yard, calls[0].point)
    starts = _start(calls[0], clock + drive)
    return clock if starts is None else max(clock, starts - drive)
