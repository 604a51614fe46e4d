"""Invented daily temperatures: a year that is at its height on the day of the demonstration."""

from datetime import date, timedelta
from math import cos, pi, sin
from typing import Any

from services.demonstration.reading import Days, plain, read
from services.demonstration.yard import kept
from treatments.models import WeatherStation
from treatments.weather import take_in_table

DAYS_OF_YEAR = 365.25
STATION = ("name", "latitude", "longitude", "note")


def load_temperatures(days: Days) -> None:
    """Take in a table of temperatures: measured until yesterday, forecast for the days to come."""
    row = read("temperatures")
    others = [name for name in row if name not in STATION]
    station = kept(WeatherStation(**plain(row, *others)))
    take_in_table(station=station, text=table_of(row, days.today))


def table_of(row: dict[str, Any], today: date) -> str:
    """Return the invented days as a table with commas."""
    numbers = range(-row["days_before"], row["days_ahead"] + 1)
    told = [number for number in numbers if -number not in row["missing"]]
    return "\n".join(["date,min,max,unit,kind", *(_line(row, today, number) for number in told)])


def _line(row: dict[str, Any], today: date, number: int) -> str:
    mean = mean_on(row, number)
    kind = "measured" if number < 0 else "forecast"
    day = today + timedelta(days=number)
    return f"{day},{mean - row['reach_f']:.1f},{mean + row['reach_f']:.1f},F,{kind}"


def mean_on(row: dict[str, Any], number: int) -> float:
    """Return the mean of a day in °F, so many days after the demonstration's own."""
    season = row["swing_f"] * cos(2 * pi * number / DAYS_OF_YEAR)
    weather = sum(height * sin(2 * pi * number / days) for height, days in row["waves"])
    return row["mean_f"] + season + weather
