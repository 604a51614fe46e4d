"""Visits and crews of several days as the stops and shifts of one plan."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from services.dispatching.clock import DayClock
from services.dispatching.crews import shift_of
from services.dispatching.horizons.allowing import is_promised
from services.dispatching.horizons.horizon import Horizon
from services.dispatching.obstacles import Known
from services.dispatching.stops import PROMISED, begun_stop, stop_of
from services.models import Crew, Visit
from services.rules.plans import DAY, CrewShift, Stop, Window
from services.weathering import Forecasts, closed_by_weather, forecasts_at, load_labels

KEPT = PROMISED**2  # how many others a visit outweighs that may not be lost; our own choice


def stops_to_make(
    visits: Sequence[Visit],
    days: Mapping[int, Sequence[date]],
    horizon: Horizon,
    known: Known,
    clocks: Mapping[date, DayClock],
    now: datetime,
) -> Iterator[Stop]:
    """Yield visits as stops, each with its hours of all its days.

    days: those on which each visit may go, by its id
    """
    forecasts = forecasts_at(now)
    for visit in load_labels(visits):
        of_days = {
            day: _on_a_day(visit, clocks[day], known, forecasts, now) for day in days[visit.pk]
        }
        yield _as_one(visit, of_days, horizon, known)


def begun_stops(
    visits: Iterable[Visit], horizon: Horizon, known: Known, clocks: Mapping[date, DayClock]
) -> Iterator[Stop]:
    """Yield visits that were begun as stops that stay with their crews at their hours."""
    for visit in visits:
        day = visit.route().day
        stop = begun_stop(visit, known.takes[visit.pk], clocks[day])
        yield replace(stop, windows=_shifted(stop.windows, horizon.number(day)))


def shifts_of(
    horizon: Horizon,
    crews: Iterable[Crew],
    clocks: Mapping[date, DayClock],
    stops: Sequence[Stop],
    begun: Iterable[Visit],
    now: datetime,
) -> Iterator[CrewShift]:
    """Yield the shifts of the crews that are there, day after day."""
    needs: frozenset[str] = frozenset().union(*(stop.needs for stop in stops))
    on_the_road = {(visit.route().crew_id, visit.route().day) for visit in begun}
    for crew in crews:
        for day, clock in clocks.items():
            if not crew.works_on(day) or (crew.pk, day) in horizon.absent:
                continue
            is_out = (crew.pk, day) in on_the_road
            shift = shift_of(crew, clock, needs, not_before=None if is_out else now)
            if shift is not None:
                yield _of_several_days(shift, day, horizon.number(day))


def key_of_shift(crew_key: str, day: date) -> str:
    """Return the key of a crew's shift on a day."""
    return f"{crew_key} {day.isoformat()}"


def crew_and_day(shift_key: str) -> tuple[str, date]:
    """Return the key of the crew and the day of a shift."""
    crew_key, _, day = shift_key.partition(" ")
    return crew_key, date.fromisoformat(day)


def _on_a_day(
    visit: Visit, clock: DayClock, known: Known, forecasts: Forecasts, now: datetime
) -> Stop:
    not_before = now if clock.seconds(now) > 0 else None
    closed = closed_by_weather(visit, clock.day, forecasts)
    return stop_of(visit, known.takes[visit.pk], clock, not_before, closed)


def _as_one(visit: Visit, of_days: Mapping[date, Stop], horizon: Horizon, known: Known) -> Stop:
    windows = tuple(
        window
        for day, stop in of_days.items()
        for window in _shifted(stop.windows, horizon.number(day))
    )
    planned = of_days.get(visit.planned) or next(iter(of_days.values()))
    return replace(
        planned,
        windows=windows,
        no_window=None if windows else planned.no_window,
        last_day=visit.latest <= horizon.last,
        planned_day=horizon.number(visit.planned),
        priority=_priority(visit, horizon, known),
    )


def _priority(visit: Visit, horizon: Horizon, known: Known) -> int:
    """Return how many others a visit outweighs: most where its day may not be lost."""
    if visit.dispatch_id is None and not is_promised(visit, known):
        return 1
    return PROMISED if visit.pk in horizon.freed else KEPT


def _of_several_days(shift: CrewShift, day: date, number: int) -> CrewShift:
    return replace(
        shift,
        key=key_of_shift(shift.key, day),
        name=f"{shift.name} ({day.isoformat()})",
        starts=shift.starts + number * DAY,
        ends=shift.ends + number * DAY,
    )


def _shifted(windows: Iterable[Window], number: int) -> tuple[Window, ...]:
    return tuple((opens + number * DAY, closes + number * DAY) for opens, closes in windows)
