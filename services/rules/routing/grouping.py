"""Makes one stop of the stops that a crew makes together: one client, one place, same hours."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from services.rules.plans import UNITS_PER_GALLON, CrewShift, Stop, stop_units
from services.rules.routing.copies import workable_copies
from services.rules.routing.greedy import Tours
from services.rules.routing.ground import Ground
from services.rules.routing.timetable import Call


@dataclass(frozen=True, slots=True)
class Grouped:
    """The stops to plan by their keys, and the stops that each of them stands for."""

    by_key: Mapping[str, Stop]
    members: Mapping[str, tuple[Stop, ...]]

    @property
    def stops(self) -> tuple[Stop, ...]:
        """Return the stops to plan."""
        return tuple(self.by_key.values())

    def apart(self, tours: Tours) -> dict[str, tuple[Call, ...]]:
        """Return tours in which every stop stands for itself again."""
        return {key: tuple(self._apart(calls)) for key, calls in tours.items()}

    def together(self, tours: Tours) -> dict[str, tuple[Call, ...]]:
        """Return tours in which the stops of a place that follow one another are one again.

        Where they were made apart they are in no tour.
        """
        return {key: tuple(self._together(calls)) for key, calls in tours.items()}

    def _apart(self, calls: Sequence[Call]) -> Iterator[Call]:
        for call in calls:
            yield from self.members[call.key] if call and self._is_planned(call) else (call,)

    def _together(self, calls: Sequence[Call]) -> Iterator[Call]:
        waiting = list(calls)
        while waiting:
            call = waiting.pop(0)
            if call is None or self._is_planned(call):
                yield call
                continue
            others = list(self.members.get(call.key, ()))[1:]
            if others and waiting[: len(others)] == others:
                del waiting[: len(others)]
                yield self.by_key[call.key]

    def _is_planned(self, stop: Stop) -> bool:
        return self.by_key.get(stop.key) == stop


def grouped(stops: Sequence[Stop], shifts: Sequence[CrewShift], ground: Ground) -> Grouped:
    """Return the stops with those of one visit to a client's place made one, where a crew can."""
    together: dict[object, list[Stop]] = {}
    for stop in stops:
        alike = (stop.client, stop.point, stop.windows) if stop.client else stop.key
        together.setdefault(alike, []).append(stop)
    members: dict[str, tuple[Stop, ...]] = {}
    planned: dict[str, Stop] = {}
    for group in together.values():
        joined = _joined(group) if len(group) > 1 else group[0]
        if joined is None or not workable_copies([joined], shifts, ground):
            planned |= {stop.key: stop for stop in group}
            members |= {stop.key: (stop,) for stop in group}
        else:
            planned[joined.key] = joined
            members[joined.key] = tuple(group)
    return Grouped(planned, members)


def _joined(group: Sequence[Stop]) -> Stop | None:
    """Return the stops as one whose last part still starts in its window, or None.

    Those that take different mixes are not made as one: between them the sprayer is rinsed.
    """
    mixes = {stop.mix for stop in group if stop.mix}
    before_last = sum(stop.service_seconds for stop in group[:-1])
    windows = tuple((opens, closes - before_last) for opens, closes in group[0].windows)
    if len(mixes) > 1 or any(opens > closes for opens, closes in windows):
        return None
    return replace(
        group[0],
        windows=windows,
        service_seconds=before_last + group[-1].service_seconds,
        needs=frozenset().union(*(stop.needs for stop in group)),
        spray_gallons=Decimal(sum(stop_units(stop.spray_gallons) for stop in group))
        / UNITS_PER_GALLON,
        prize_seconds=sum(stop.prize() for stop in group),
        mix=min(mixes, default=""),
        rinse_seconds=max(stop.rinse_seconds for stop in group),
        rinse_gallons=max(stop.rinse_gallons for stop in group),
    )
