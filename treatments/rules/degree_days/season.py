"""The heat of a row of days: gaps filled from their neighbours, and what is forecast kept apart."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from treatments.rules.degree_days.one_day import HeatModel, Scale, convert, degree_days

LONGEST_GAP_DAYS = 7  # this project's choice
CARRIED_FROM_DAYS = 7  # this project's choice
ONE_DAY = timedelta(days=1)


class WeatherMissing(ValueError):
    """Too many days without a temperature to tell the heat of a season."""


@dataclass(frozen=True, slots=True)
class DayTemperature:
    """The lowest and highest temperature of a day, and how they came to be known.

    minimum, maximum: in degrees of `scale`
    forecast: not measured yet; filled: taken from the days around it
    """

    day: date
    minimum: float
    maximum: float
    scale: Scale = Scale.CELSIUS
    forecast: bool = False
    filled: bool = False

    def in_scale(self, scale: Scale) -> "DayTemperature":
        """Return the same day on another scale."""
        lowest, highest = (
            convert(each, self.scale, scale) for each in (self.minimum, self.maximum)
        )
        return DayTemperature(self.day, lowest, highest, scale, self.forecast, self.filled)


@dataclass(frozen=True, slots=True)
class HeatDay:
    """The degree-days of a day and of all days up to it, in the scale of the model."""

    day: date
    heat: float
    total: float
    forecast: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class HeatSum:
    """A sum of degree-days, told by what is measured, filled and forecast."""

    measured: float
    filled: float
    forecast: float

    @property
    def total(self) -> float:
        """The whole sum."""
        return self.measured + self.filled + self.forecast


def fill_missing(temperatures: Iterable[DayTemperature]) -> tuple[DayTemperature, ...]:
    """Return a row of days without gaps: a missing day lies on the line between its neighbours.

    temperatures: in any order, each day once; all in one scale

    Raise WeatherMissing for a gap of more than LONGEST_GAP_DAYS.

    >>> known = [DayTemperature(date(2026, 5, day), day, day + 10) for day in (1, 3)]
    >>> [(each.minimum, each.filled) for each in fill_missing(known)]
    [(1, False), (2.0, True), (3, False)]
    """
    known = sorted(temperatures, key=lambda each: each.day)
    row = known[:1]
    for earlier, later in pairwise(known):
        row += [*_between(earlier, later), later]
    return tuple(row)


def _between(earlier: DayTemperature, later: DayTemperature) -> list[DayTemperature]:
    gap = (later.day - earlier.day).days
    if gap < 1:
        raise WeatherMissing(f"{later.day} is told twice: keep one lowest and one highest.")
    if gap - 1 > LONGEST_GAP_DAYS:
        raise WeatherMissing(
            f"No temperature is known from {earlier.day + ONE_DAY} to {later.day - ONE_DAY}: "
            f"more than {LONGEST_GAP_DAYS} days in a row cannot be filled from their neighbours."
        )
    return [_on_the_line(earlier, later, number, gap) for number in range(1, gap)]


def _on_the_line(
    earlier: DayTemperature, later: DayTemperature, number: int, gap: int
) -> DayTemperature:
    part = number / gap
    return DayTemperature(
        day=earlier.day + number * ONE_DAY,
        minimum=earlier.minimum + part * (later.minimum - earlier.minimum),
        maximum=earlier.maximum + part * (later.maximum - earlier.maximum),
        scale=earlier.scale,
        forecast=later.forecast,
        filled=True,
    )


def carried_on(
    temperatures: Iterable[DayTemperature], last: date, *, from_days: int = CARRIED_FROM_DAYS
) -> tuple[DayTemperature, ...]:
    """Return a row of days carried on to a last one, each like the mean of the last known.

    temperatures: in any order, all in one scale; from_days: so many last days make the mean

    What is carried on is marked as forecast; a row that reaches the last day stays as it is.

    >>> known = [DayTemperature(date(2026, 7, day), 15, 25 + day) for day in (1, 2)]
    >>> [(day.maximum, day.forecast) for day in carried_on(known, date(2026, 7, 3))]
    [(26, False), (27, False), (26.5, True)]
    """
    row = tuple(sorted(temperatures, key=lambda each: each.day))
    if not row or row[-1].day >= last:
        return row
    lately = row[-from_days:]
    lowest = sum(each.minimum for each in lately) / len(lately)
    highest = sum(each.maximum for each in lately) / len(lately)
    known_until, scale = row[-1].day, row[-1].scale
    return row + tuple(
        DayTemperature(known_until + number * ONE_DAY, lowest, highest, scale, forecast=True)
        for number in range(1, (last - known_until).days + 1)
    )


def heat_of_days(
    temperatures: Iterable[DayTemperature], model: HeatModel, *, since: date | None = None
) -> tuple[HeatDay, ...]:
    """Return the heat of each day and the sum up to it, gaps filled, in the model's scale.

    temperatures: in any order and scale; since: the first day that counts, the first known if None

    >>> warm = [DayTemperature(date(2026, 5, day), 15, 25) for day in (1, 2)]
    >>> [each.total for each in heat_of_days(warm, HeatModel(10, 33))]
    [10.0, 20.0]
    """
    row = fill_missing(each.in_scale(model.scale) for each in temperatures)
    row = tuple(each for each in row if since is None or each.day >= since)
    days, total = [], 0.0
    for today, tomorrow in zip(row, [*row[1:], None], strict=False):
        heat = _heat_of(today, tomorrow, model)
        total += heat
        days.append(HeatDay(today.day, heat, total, today.forecast, today.filled))
    return tuple(days)


def _heat_of(today: DayTemperature, tomorrow: DayTemperature | None, model: HeatModel) -> float:
    next_minimum = None if tomorrow is None else tomorrow.minimum
    return degree_days(today.minimum, today.maximum, model, next_minimum)


def sum_heat(days: Sequence[HeatDay], first: date, last: date) -> HeatSum:
    """Return the heat from one day to another, both counted, told by how it is known.

    >>> day = HeatDay(date(2026, 5, 1), heat=10.0, total=10.0, forecast=True)
    >>> sum_heat([day], date(2026, 5, 1), date(2026, 5, 2)).forecast
    10.0
    """
    counted = [each for each in days if first <= each.day <= last]
    forecast = sum(each.heat for each in counted if each.forecast)
    filled = sum(each.heat for each in counted if each.filled and not each.forecast)
    measured = sum(each.heat for each in counted if not (each.filled or each.forecast))
    return HeatSum(measured, filled, forecast)
