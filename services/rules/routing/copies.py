"""What a search is given beside its model: each stop in its windows, and how long it goes on."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from services.rules.plans import CrewShift, Stop, Window, stop_units, tank_units
from services.rules.routing.ground import Ground
from services.rules.routing.timetable import can_do, walk


@dataclass(frozen=True, slots=True)
class Copy:
    """A stop in one of its windows: what the model calls a client."""

    stop: Stop
    window: Window


@dataclass(frozen=True, slots=True)
class Effort:
    """How long the search goes on; without seconds the same effort gives the same tours.

    is_brisk: it is short, and is to make the most of it
    """

    seed: int
    iterations: int
    seconds: float | None = None
    is_brisk: bool = False


def workable_copies(
    stops: Iterable[Stop], shifts: Sequence[CrewShift], ground: Ground
) -> list[Copy]:
    """Return the stops in those of their windows in which some crew could make them alone."""
    return [
        Copy(stop, window)
        for stop in stops
        for window in stop.windows
        if any(_works_alone(stop, window, shift, ground) for shift in shifts)
    ]


def _works_alone(stop: Stop, window: Window, shift: CrewShift, ground: Ground) -> bool:
    if window[0] > shift.ends or window[1] < shift.starts:
        return False
    if not can_do(shift, stop) or stop_units(stop.spray_gallons) > tank_units(shift.tank_gallons):
        return False
    return walk(shift, [replace(stop, windows=(window,))], ground) is not None
