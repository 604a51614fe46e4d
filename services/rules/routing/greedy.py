"""Builds tours by cheapest insertion: a first plan, and the least that a better one must beat."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from services.rules.plans import CrewShift, Stop, tank_units
from services.rules.routing.ground import Ground
from services.rules.routing.timetable import (
    REFILL,
    Call,
    can_do,
    carries,
    drawn,
    timetable,
    with_refills,
)

Tours = Mapping[str, Sequence[Call]]  # the calls of each shift, by its key


@dataclass(frozen=True, slots=True)
class Insertion:
    """A place for a stop: the shift, its calls with the stop in them, the seconds it adds."""

    shift: CrewShift
    calls: tuple[Call, ...]
    added_seconds: int


def cheapest_insertion(
    stop: Stop, tours: Tours, shifts: Iterable[CrewShift], ground: Ground
) -> Insertion | None:
    """Return the place for a stop that adds the least driving, or None where it fits nowhere."""
    places = [place for shift in shifts for place in _places(stop, shift, tours[shift.key], ground)]
    ranked = sorted(places, key=lambda place: (place.added_seconds, place.shift.key))
    return next((place for place in ranked if timetable(place.shift, place.calls, ground)), None)


def insert_all(
    stops: Iterable[Stop], tours: Tours, shifts: Sequence[CrewShift], ground: Ground
) -> dict[str, tuple[Call, ...]]:
    """Return the tours with every stop put in that fits and costs less than leaving it out.

    The stops that close first come first, and of those the ones that count most.
    """
    grown = {shift.key: tuple(tours.get(shift.key, ())) for shift in shifts}
    for stop in sorted(stops, key=_urgency):
        place = cheapest_insertion(stop, grown, shifts, ground)
        if place and place.added_seconds < stop.prize():
            grown[place.shift.key] = place.calls
    return grown


def straightened(
    tours: Tours, shifts: Iterable[CrewShift], ground: Ground
) -> dict[str, tuple[Call, ...]]:
    """Return the tours with stretches turned round wherever that shortens the drive (2-opt)."""
    return {shift.key: _straightened(shift, tuple(tours[shift.key]), ground) for shift in shifts}


def driving(shift: CrewShift, calls: Sequence[Call], ground: Ground) -> int:
    """Return the seconds of driving of a shift's calls, out of the yard and back."""
    places = [shift.yard, *(call.point if call else shift.yard for call in calls), shift.yard]
    return sum(map(ground.seconds, places, places[1:]))


def tours_cost(
    tours: Tours, stops: Iterable[Stop], shifts: Iterable[CrewShift], ground: Ground
) -> int:
    """Return what tours count, in seconds: driving, stops in none of them, days away."""
    made = {call.key for calls in tours.values() for call in calls if call}
    missed = sum(stop.prize() for stop in stops if stop.key not in made)
    return missed + sum(_tour_cost(shift, tours[shift.key], ground) for shift in shifts)


def _tour_cost(shift: CrewShift, calls: Sequence[Call], ground: Ground) -> int:
    away = sum(call.away(shift.day) for call in calls if call)
    return away + driving(shift, calls, ground)


def _urgency(stop: Stop) -> tuple[int, int, str]:
    return (max((closes for _, closes in stop.windows), default=0), -stop.prize(), stop.key)


def _places(
    stop: Stop, shift: CrewShift, calls: Sequence[Call], ground: Ground
) -> Iterator[Insertion]:
    if not can_do(shift, stop) or not _meets(stop, shift):
        return
    away, before = stop.away(shift.day), driving(shift, calls, ground)
    spare = _spare(shift, calls, before) - stop.service_seconds
    needs_no_refill = REFILL not in calls and _is_plenty(shift, [*calls, stop])
    for place in range(len(calls) + 1):
        grown = [*calls[:place], stop, *calls[place:]]
        if needs_no_refill:
            added = _detour(stop, shift, calls, place, ground)
        else:
            grown = grown if carries(shift, grown) else with_refills(shift, grown)
            added = driving(shift, grown, ground) - before
        if added <= spare:
            yield Insertion(shift, tuple(grown), away + added)


def _spare(shift: CrewShift, calls: Iterable[Call], drive: int) -> int:
    """Return the seconds of a shift that are neither driving nor work nor lunch."""
    work = sum(call.service_seconds for call in calls if call)
    lunch = shift.lunch_seconds if shift.lunch_window() else 0
    return shift.ends - shift.starts - drive - work - lunch


def _is_plenty(shift: CrewShift, calls: Iterable[Call]) -> bool:
    """Say whether a full tank serves the calls in any order, with a rinse after each."""
    takes = sum(drawn(stop, is_rinsed=bool(stop.mix)) for stop in calls if stop)
    return takes <= tank_units(shift.tank_gallons)


def _meets(stop: Stop, shift: CrewShift) -> bool:
    """Say whether the work may start within the shift."""
    return any(opens <= shift.ends and shift.starts <= closes for opens, closes in stop.windows)


def _detour(stop: Stop, shift: CrewShift, calls: Sequence[Call], place: int, ground: Ground) -> int:
    """Return the seconds of driving that a stop adds between two calls that are no refills."""
    points = [shift.yard, *(call.point for call in calls if call), shift.yard]
    before, after = points[place], points[place + 1]
    there, on = ground.seconds(before, stop.point), ground.seconds(stop.point, after)
    return there + on - ground.seconds(before, after)


def _straightened(shift: CrewShift, calls: tuple[Call, ...], ground: Ground) -> tuple[Call, ...]:
    shorter = True
    while shorter:
        shorter = False
        for turned in _turned(calls):
            gain = driving(shift, calls, ground) - driving(shift, turned, ground)
            if gain > 0 and timetable(shift, turned, ground):
                calls, shorter = turned, True
                break
    return calls


def _turned(calls: tuple[Call, ...]) -> Iterator[tuple[Call, ...]]:
    for first in range(len(calls) - 1):
        for last in range(first + 2, len(calls) + 1):
            yield calls[:first] + calls[first:last][::-1] + calls[last:]
