"""On which day a sum of heat will be reached: hatching, a generation, the next cue."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from treatments.rules.degree_days.one_day import TemperatureUnusable
from treatments.rules.degree_days.season import HeatDay


@dataclass(frozen=True, slots=True)
class Mark:
    """A heat sum that something waits for, and the day that reaches it, if a known one does."""

    heat: float
    day: date | None
    forecast: bool
    still_wanting: float


def day_reaching(
    days: Sequence[HeatDay], heat: float, *, since: date | None = None
) -> HeatDay | None:
    """Return the first day whose sum reaches a heat, or None when the days do not suffice.

    heat: degree-days in the scale of `days`
    since: the first day that counts; None counts all

    >>> days = [HeatDay(date(2026, 5, day), 10.0, 10.0 * day) for day in (1, 2, 3)]
    >>> day_reaching(days, 20).day.day, day_reaching(days, 20, since=date(2026, 5, 2)).day.day
    (2, 3)
    """
    gathered = 0.0
    for each in days:
        if since is None or each.day >= since:
            gathered += each.heat
            if gathered >= heat:
                return each
    return None


def next_heat(days: Sequence[HeatDay], marks: Iterable[float], *, today: date) -> Mark | None:
    """Return the smallest heat sum not yet reached before today, with its day where one is known.

    days: the whole season from the date at which the marks begin to count
    marks: degree-days in the scale of `days`

    None when all are behind.

    >>> days = [HeatDay(date(2026, 5, day), 10.0, 10.0 * day) for day in (1, 2, 3)]
    >>> next_heat(days, [5, 25, 90], today=date(2026, 5, 2)).day.day
    3
    >>> next_heat(days, [5, 90], today=date(2026, 5, 2)).still_wanting
    80.0
    """
    gathered = sum(each.heat for each in days if each.day < today)
    ahead = min((mark for mark in marks if mark > gathered), default=None)
    if ahead is None:
        return None
    reached = day_reaching(days, ahead)
    if reached is None:
        return Mark(ahead, None, forecast=True, still_wanting=ahead - gathered)
    return Mark(ahead, reached.day, reached.forecast, ahead - gathered)


def generation_days(
    days: Sequence[HeatDay], generation_heat: float, *, since: date | None = None
) -> tuple[date, ...]:
    """Return the days on which one generation after another is complete.

    generation_heat: degree-days of one generation, in the scale of `days`

    >>> days = [HeatDay(date(2026, 5, day), 10.0, 10.0 * day) for day in range(1, 8)]
    >>> [day.day for day in generation_days(days, 30)]
    [3, 6]
    """
    if generation_heat <= 0:
        raise TemperatureUnusable("A generation takes more than no heat.")
    gathered = 0.0
    complete: list[date] = []
    for each in days:
        if since is None or each.day >= since:
            gathered += each.heat
        while gathered >= generation_heat * (len(complete) + 1):
            complete.append(each.day)
    return tuple(complete)


def hatch_day(days: Sequence[HeatDay], egg_heat: float, *, laid_on: date) -> date | None:
    """Return the day on which eggs laid on a morning hatch, or None when it is not in sight.

    egg_heat: degree-days from laying to hatching, in the scale of `days`

    >>> days = [HeatDay(date(2026, 5, day), 15.0, 15.0 * day) for day in range(1, 10)]
    >>> hatch_day(days, 62, laid_on=date(2026, 5, 2)).day
    6
    """
    reached = day_reaching(days, egg_heat, since=laid_on)
    return None if reached is None else reached.day


def days_at(heat: float, mean: float, lower: float) -> float:
    """Return the days that a heat takes at a steady temperature.

    heat: degree-days; mean: temperature; lower: threshold; all in one scale

    Raise TemperatureUnusable where it is too cold for any heat.

    >>> days_at(62, mean=20, lower=10)
    6.2
    """
    if mean <= lower:
        raise TemperatureUnusable(f"At {mean} degrees no heat gathers above {lower}.")
    return heat / (mean - lower)
