"""Reads the forecasts of the national weather service: point, hourly periods and raw grid.

The shapes are those of its public interface [NWS-API]: a point names its grid; the hourly periods
tell wind in words such as "5 to 10 mph"; the layers of the raw grid tell an instant and how long
it holds, as ISO 8601 writes them.  What is null is unknown, never calm and never dry.  A reply
that does not have the shape, or tells what the air never does, is refused as a whole.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any, TypeGuard

HOUR = timedelta(hours=1)
MOST_HOURS = 240  # ten days; the service tells about seven
MOST_VALUES = 2_000
MOST = 1_000_000  # beyond it no figure of the air lies; it also holds off what is no number
KM_IN_MILE = Decimal("1.609344")  # exact, by definition of the international mile
FEET_IN_METER = Decimal(1) / Decimal("0.3048")
TENTH = Decimal("0.1")
RANGES = {
    "temperature_f": (Decimal(-80), Decimal(140)),
    "humidity_percent": (Decimal(0), Decimal(100)),
    "wind_mph": (Decimal(0), Decimal(200)),
    "gust_mph": (Decimal(0), Decimal(250)),
    "rain_percent": (Decimal(0), Decimal(100)),
}  # what the air may be; this project's choice
OFFICE = re.compile(r"[A-Z]{3}")
WIND = re.compile(r"(\d{1,3})(?: to (\d{1,3}))? (mph|km/h)")
LASTS = re.compile(r"P(?:(\d{1,2})D)?(?:T(?:(\d{1,3})H)?(?:(\d{1,3})M)?)?")
LAYERS = {
    "temperature": ("temperature_f", "wmoUnit:degC"),
    "relativeHumidity": ("humidity_percent", "wmoUnit:percent"),
    "windSpeed": ("wind_mph", "wmoUnit:km_h-1"),
    "windGust": ("gust_mph", "wmoUnit:km_h-1"),
    "probabilityOfPrecipitation": ("rain_percent", "wmoUnit:percent"),
}


class WeatherUnreadable(ValueError):
    """A reply that does not have the shape of a forecast, or tells what the air never does."""


@dataclass(frozen=True, slots=True)
class GridCell:
    """The cell of the forecast grid that a point lies in: the office that keeps it, and where."""

    office: str
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class ForecastHour:
    """What is forecast from an instant on for an hour; None is unknown, never calm or dry.

    starts_at: in UTC; rain_percent: how likely it is that it rains in the hour
    """

    starts_at: datetime
    temperature_f: Decimal | None = None
    humidity_percent: Decimal | None = None
    wind_mph: Decimal | None = None
    gust_mph: Decimal | None = None
    rain_percent: Decimal | None = None


def cell_of_point(reply: object) -> GridCell:
    """Return the grid cell that the reply for a point names; raise WeatherUnreadable.

    >>> cell_of_point({"properties": {"gridId": "PHI", "gridX": 58, "gridY": 90}})
    GridCell(office='PHI', x=58, y=90)
    """
    told = _properties(reply)
    office, x, y = told.get("gridId"), told.get("gridX"), told.get("gridY")
    if not isinstance(office, str) or not OFFICE.fullmatch(office):
        raise WeatherUnreadable("The reply names no office of the grid.")
    if not (_is_whole(x) and _is_whole(y)):
        raise WeatherUnreadable("The reply names no cell of the grid.")
    return GridCell(office, x, y)


def hours_of_periods(reply: object) -> tuple[ForecastHour, ...]:
    """Return the hours that the hourly forecast tells, in order; raise WeatherUnreadable."""
    periods = _properties(reply).get("periods")
    if not isinstance(periods, list) or len(periods) > MOST_HOURS:
        raise WeatherUnreadable("The reply holds no list of hourly periods.")
    hours = {hour.starts_at: hour for hour in map(_hour_of_period, periods)}
    return tuple(hours[instant] for instant in sorted(hours))


def hours_of_grid(reply: object) -> tuple[ForecastHour, ...]:
    """Return the hours that the raw grid tells, in order; raise WeatherUnreadable.

    A layer that is missing leaves its figure unknown.
    """
    told = _properties(reply)
    hours: dict[datetime, ForecastHour] = {}
    for layer, (name, unit) in LAYERS.items():
        for instant, value in _values_of_layer(told.get(layer), unit):
            known = hours.get(instant, ForecastHour(instant))
            figure: dict[str, Any] = {name: _ranged(name, value)}
            hours[instant] = replace(known, **figure)
    if len(hours) > MOST_HOURS:
        raise WeatherUnreadable(f"The reply tells more than {MOST_HOURS} hours.")
    return tuple(hours[instant] for instant in sorted(hours))


def elevation_of_grid(reply: object) -> Decimal | None:
    """Return the feet above the sea that the raw grid tells, or None where it does not.

    >>> elevation_of_grid({"properties": {"elevation": {"unitCode": "wmoUnit:m", "value": 30.48}}})
    Decimal('100')
    """
    told = _properties(reply).get("elevation")
    if not isinstance(told, Mapping) or told.get("unitCode") != "wmoUnit:m":
        return None
    feet = _number(told.get("value"))
    return None if feet is None else (feet * FEET_IN_METER).quantize(Decimal(1))


def both(periods: Sequence[ForecastHour], grid: Sequence[ForecastHour]) -> tuple[ForecastHour, ...]:
    """Return the hours of either forecast: what one leaves open the other fills in.

    Of two winds the stronger is taken, and of two chances of rain the greater.
    """
    hours = {hour.starts_at: hour for hour in grid}
    for hour in periods:
        hours[hour.starts_at] = _stricter(hour, hours.get(hour.starts_at, hour))
    return tuple(hours[instant] for instant in sorted(hours))


def upper_wind_mph(words: str) -> Decimal:
    """Return the stronger wind of a range in words, in miles an hour; raise WeatherUnreadable.

    >>> upper_wind_mph("5 to 10 mph"), upper_wind_mph("16 km/h")
    (Decimal('10'), Decimal('9.9'))
    """
    read = WIND.fullmatch(words.strip())
    if read is None:
        raise WeatherUnreadable(f"“{words[:40]}” is no wind such as “5 to 10 mph”.")
    strongest = max(Decimal(speed) for speed in read.group(1, 2) if speed)
    return strongest if read[3] == "mph" else _mph(strongest)


def hours_of_interval(interval: str) -> tuple[datetime, ...]:
    """Return the whole hours, in UTC, that an instant with a duration covers.

    interval: as ISO 8601 writes it, such as 2026-07-12T12:00:00+00:00/PT6H
    Raise WeatherUnreadable where it is none, or longer than MOST_HOURS.

    >>> [hour.hour for hour in hours_of_interval("2026-07-12T23:00:00+00:00/PT2H")]
    [23, 0]
    """
    instant, _, lasts = interval.partition("/")
    read = LASTS.fullmatch(lasts)
    if read is None or lasts in ("P", "PT") or lasts.endswith("T"):
        raise WeatherUnreadable(f"“{interval[:60]}” is no instant with a duration.")
    days, hours, minutes = (int(part or 0) for part in read.groups())
    length = timedelta(days=days, hours=hours, minutes=minutes)
    if not timedelta(0) < length <= MOST_HOURS * HOUR:
        raise WeatherUnreadable(f"“{interval[:60]}” lasts no time that is forecast.")
    return tuple(_whole_hours(_instant(instant), length))


def _whole_hours(starts: datetime, length: timedelta) -> Iterator[datetime]:
    hour = starts.replace(minute=0, second=0, microsecond=0)
    while hour < starts + length:
        yield hour
        hour += HOUR


def _hour_of_period(period: object) -> ForecastHour:
    if not isinstance(period, Mapping):
        raise WeatherUnreadable("A period of the reply is no object.")
    starts_at = _instant(period.get("startTime"))
    wind = period.get("windSpeed")
    figures = {
        "temperature_f": _period_temperature(period),
        "humidity_percent": _percent(period.get("relativeHumidity")),
        "wind_mph": upper_wind_mph(wind) if isinstance(wind, str) and wind.strip() else None,
        "rain_percent": _percent(period.get("probabilityOfPrecipitation")),
    }
    ranged = {name: _ranged(name, value) for name, value in figures.items()}
    return ForecastHour(starts_at.replace(minute=0, second=0, microsecond=0), **ranged)


def _period_temperature(period: Mapping) -> Decimal | None:
    degrees, unit = _number(period.get("temperature")), period.get("temperatureUnit")
    if degrees is None:
        return None
    if unit not in ("F", "C"):
        raise WeatherUnreadable("A temperature of the reply has no unit.")
    return degrees if unit == "F" else _fahrenheit(degrees)


def _percent(told: object) -> Decimal | None:
    if told is None:
        return None
    if not isinstance(told, Mapping) or told.get("unitCode") != "wmoUnit:percent":
        raise WeatherUnreadable("A share of the reply is not told in percent.")
    return _number(told.get("value"))


def _values_of_layer(layer: object, unit: str) -> Iterator[tuple[datetime, Decimal | None]]:
    if layer is None or (isinstance(layer, Mapping) and not layer.get("values")):
        return
    if not isinstance(layer, Mapping) or layer.get("uom") != unit:
        raise WeatherUnreadable(f"A layer of the grid is not told in {unit}.")
    values = layer.get("values")
    if not isinstance(values, list) or len(values) > MOST_VALUES:
        raise WeatherUnreadable("A layer of the grid holds no list of values.")
    for told in values:
        if not isinstance(told, Mapping) or not isinstance(told.get("validTime"), str):
            raise WeatherUnreadable("A value of the grid has no time.")
        value = _in_our_unit(_number(told.get("value")), unit)
        for instant in hours_of_interval(told["validTime"]):
            yield instant, value


def _in_our_unit(value: Decimal | None, unit: str) -> Decimal | None:
    if value is None:
        return None
    if unit == "wmoUnit:degC":
        return _fahrenheit(value)
    return _mph(value) if unit == "wmoUnit:km_h-1" else value


def _stricter(one: ForecastHour, other: ForecastHour) -> ForecastHour:
    return ForecastHour(
        starts_at=one.starts_at,
        temperature_f=_first_known(one.temperature_f, other.temperature_f),
        humidity_percent=_first_known(one.humidity_percent, other.humidity_percent),
        wind_mph=_greatest(one.wind_mph, other.wind_mph),
        gust_mph=_greatest(one.gust_mph, other.gust_mph),
        rain_percent=_greatest(one.rain_percent, other.rain_percent),
    )


def _first_known(*values: Decimal | None) -> Decimal | None:
    return next((value for value in values if value is not None), None)


def _greatest(*values: Decimal | None) -> Decimal | None:
    return max((value for value in values if value is not None), default=None)


def _properties(reply: object) -> Mapping:
    told = reply.get("properties") if isinstance(reply, Mapping) else None
    if not isinstance(told, Mapping):
        raise WeatherUnreadable("The reply is no forecast.")
    return told


def _is_whole(number: object) -> TypeGuard[int]:
    return isinstance(number, int) and not isinstance(number, bool) and 0 <= number < 1000


def _instant(told: object) -> datetime:
    try:
        instant = datetime.fromisoformat(told) if isinstance(told, str) else None
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None or not 2000 <= instant.year <= 2200:
        raise WeatherUnreadable("A time of the reply is no instant with an offset.")
    return instant.astimezone(UTC)


def _number(told: object) -> Decimal | None:
    if told is None:
        return None
    if isinstance(told, bool) or not isinstance(told, int | float) or not abs(told) <= MOST:
        raise WeatherUnreadable("A figure of the reply is no number.")
    return Decimal(str(told))


def _ranged(name: str, value: Decimal | None) -> Decimal | None:
    least, most = RANGES[name]
    if value is None:
        return None
    if not least <= value <= most:
        raise WeatherUnreadable(f"The reply tells {value} for {name}, which the air never has.")
    return value.quantize(TENTH)


def _fahrenheit(celsius: Decimal) -> Decimal:
    return celsius * 9 / 5 + 32


def _mph(km_an_hour: Decimal) -> Decimal:
    return (km_an_hour / KM_IN_MILE).quantize(TENTH)
