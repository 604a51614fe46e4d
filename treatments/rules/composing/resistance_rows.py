"""What resistance asks between weeks: a mode of action neither next to itself nor too often.

Successive generations of a pest do not meet one group [IRAC-MOA]; two uses a generation or less
apart, or in adjoining ones, lie less than two generations apart.  A mixture counts in each of its
groups.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from treatments.rules.composing.families import Family
from treatments.rules.composing.rows import Grid, Row
from treatments.rules.composing.windows import crowded, near
from treatments.rules.facts import PastApplication
from treatments.rules.resistance import NEIGHBOUR_DAYS, modes_of_action

DaysOfGroups = dict[str, set[date]]


def generation_rows(grid: Grid) -> Iterator[Row]:
    """Yield: of one group at most one use in any two generations, records included."""
    if not grid.season.generation_days:
        return
    span = 2 * grid.season.generation_days
    runs = list(crowded(grid.days, span))
    past = [_days_of_groups(history) for history in grid.histories]
    for group, offers in grid.groups.items():
        for run in runs:
            yield Row(Family.GENERATIONS, grid.columns(run, offers), 1)
        for day in set().union(*(each.get(group, set()) for each in past)):
            if places := [at for at in near(grid.days, day, span) if grid.days[at] != day]:
                yield Row(Family.GENERATIONS, grid.columns(places, offers), 0)


def _days_of_groups(history: Sequence[PastApplication]) -> DaysOfGroups:
    days: DaysOfGroups = {}
    for application in history:
        for group in modes_of_action(application.product):
            days.setdefault(group, set()).add(application.day)
    return days


def use_rows(grid: Grid) -> Iterator[Row]:
    """Yield: of one group no more uses in a calendar year than the season allows."""
    limit = grid.season.uses_a_season
    if limit is None:
        return
    past = [_days_of_groups(history) for history in grid.histories]
    for group, offers in grid.groups.items():
        for year, places in grid.years.items():
            used = max(sum(day.year == year for day in each.get(group, ())) for each in past)
            left = max(0, limit - used)
            if left < len(places):
                yield Row(Family.USES, grid.columns(places, offers), left)


@dataclass(frozen=True, slots=True)
class _Stop:
    """A day on which something is applied: in an open week (its place), in a record, or both."""

    day: date
    place: int | None
    groups: frozenset[str]
    is_certain: bool


def neighbour_rows(grid: Grid) -> Iterator[Row]:
    """Yield: two applications with nothing between them do not share a group.

    Where the weeks between may be left out, any visit there parts the two.  Applications more than
    28 days apart are no neighbours (common practice).
    """
    told = set()
    for history in grid.histories:
        stops = _stops(grid, history)
        for first, second, between in _neighbours(stops):
            pair = (first, second, between)
            if pair not in told and not _in_one_window(grid, first, second):
                told.add(pair)
                yield from _apart(grid, first, second, between)


def _stops(grid: Grid, history: Sequence[PastApplication]) -> list[_Stop]:
    places = {day: place for place, day in enumerate(grid.days)}
    by_day = {
        day: frozenset(group for group, days in _days_of_groups(history).items() if day in days)
        for day in {each.day for each in history}
    }
    return [
        _Stop(
            day,
            places.get(day),
            by_day.get(day, frozenset()),
            day in by_day or not grid.may_be_left_out(places[day]),
        )
        for day in sorted({*places, *by_day})
    ]


def _neighbours(stops: Sequence[_Stop]) -> Iterator[tuple[_Stop, _Stop, tuple[int, ...]]]:
    for start, first in enumerate(stops):
        between: tuple[int, ...] = ()
        for second in stops[start + 1 :]:
            if (second.day - first.day).days > NEIGHBOUR_DAYS:
                break
            yield first, second, between
            if second.is_certain or second.place is None:
                break
            between = (*between, second.place)


def _in_one_window(grid: Grid, first: _Stop, second: _Stop) -> bool:
    return (second.day - first.day).days < 2 * (grid.season.generation_days or 0)


def _apart(grid: Grid, first: _Stop, second: _Stop, between: tuple[int, ...]) -> Iterator[Row]:
    parting = [column for place in between for column in grid.week_columns(place)]
    for group, offers in grid.groups.items():
        uses = [
            *([] if first.place is None else grid.columns([first.place], offers)),
            *([] if second.place is None else grid.columns([second.place], offers)),
        ]
        used = (group in first.groups) + (group in second.groups)
        if uses and used < 2:
            weights = [1.0] * len(uses) + [-1.0] * len(parting)
            yield Row(Family.GENERATIONS, [*uses, *parting], 1 - used, weights=weights)
