"""Daily temperatures: taken in from a table or by hand, and read for a place."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import cos, hypot, radians

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models import Property
from treatments.models import DailyWeather, WeatherStation
from treatments.rules.degree_days import DayTemperature, Scale
from treatments.rules.weather_file import Fault, read_weather

FARTHEST_MILES = 30  # beyond it a station says little of a garden; this project's choice
MILES_A_DEGREE = 69.0  # of latitude; from memory
TENTH = Decimal("0.1")
Source = DailyWeather.Source


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of the days of a table: new, put right, there already, or not better known."""

    added: int
    changed: int
    same: int
    left: int


@dataclass(frozen=True, slots=True)
class LocalWeather:
    """The temperatures known near a place, each day once and in order, and whose they are."""

    station: WeatherStation
    miles: float
    days: tuple[DayTemperature, ...]


class TableFaulty(ValidationError):
    """A table of temperatures of which nothing was taken in; `faults` names each wrong cell."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__([fault_in_words(fault) for fault in faults], code="table_faulty")


def fault_in_words(fault: Fault) -> str:
    """Return where a table is wrong and why, in the reader's language."""
    return gettext("Row %(row)s, column %(column)s: %(why)s") % {
        "row": fault.row,
        "column": fault.column,
        "why": fault.say(gettext),
    }


@transaction.atomic
def take_in_table(*, station: WeatherStation, text: str) -> TakenIn:
    """Take the days of a table in, all of them or none; the same table twice is taken in once.

    A forecast never takes the place of what was measured.

    Raise TableFaulty, which names every wrong cell, and then nothing is kept.
    """
    table = read_weather(text)
    if table.faults:
        raise TableFaulty(table.faults)
    return _take_in(station, [_row_of(station, day) for day in table.days])


@transaction.atomic
def enter_day(
    *,
    station: WeatherStation,
    day: date,
    minimum_f: Decimal,
    maximum_f: Decimal,
    source: str = Source.MEASURED,
) -> TakenIn:
    """Enter one day by hand, or put right what stands there."""
    row = DailyWeather(
        station=station, day=day, minimum_f=minimum_f, maximum_f=maximum_f, source=source
    )
    row.full_clean(validate_unique=False, validate_constraints=False)
    if maximum_f < minimum_f:
        raise ValidationError(
            {"maximum_f": _("The highest does not lie below the lowest.")}, code="upside_down"
        )
    return _take_in(station, [row])


def _row_of(station: WeatherStation, day: DayTemperature) -> DailyWeather:
    in_f = day.in_scale(Scale.FAHRENHEIT)
    return DailyWeather(
        station=station,
        day=day.day,
        minimum_f=Decimal(str(in_f.minimum)).quantize(TENTH),
        maximum_f=Decimal(str(in_f.maximum)).quantize(TENTH),
        source=Source.FORECAST if day.forecast else Source.MEASURED,
    )


def _take_in(station: WeatherStation, rows: Sequence[DailyWeather]) -> TakenIn:
    # The station is locked, so that two tables at once cannot add one day twice.
    WeatherStation.objects.select_for_update().get(pk=station.pk)
    known = {each.day: each for each in station.days.filter(day__in=[row.day for row in rows])}
    added = [row for row in rows if row.day not in known]
    changed, left = [], 0
    for row in rows:
        before = known.get(row.day)
        if before is None or _tell_the_same(before, row):
            continue
        if before.source == Source.MEASURED and row.source != Source.MEASURED:
            left += 1
            continue
        row.pk = before.pk
        changed.append(row)
    DailyWeather.objects.bulk_create(added)
    DailyWeather.objects.bulk_update(changed, ["minimum_f", "maximum_f", "source"])
    same = len(rows) - len(added) - len(changed) - left
    return TakenIn(len(added), len(changed), same, left)


def _tell_the_same(one: DailyWeather, other: DailyWeather) -> bool:
    return (one.minimum_f, one.maximum_f, one.source) == (
        other.minimum_f,
        other.maximum_f,
        other.source,
    )


def weather_near(place: Property, first: date, last: date) -> LocalWeather | None:
    """Return the days known at the station nearest to a place, in two queries.

    None where no station lies within FARTHEST_MILES.
    """
    found = nearest_station(place, WeatherStation.objects.all())
    if found is None:
        return None
    station, miles = found
    days = station.days.filter(day__range=(first, last)).order_by("day")
    return LocalWeather(station, miles, tuple(map(temperature_of, days)))


def nearest_station(
    place: Property, stations: Iterable[WeatherStation]
) -> tuple[WeatherStation, float] | None:
    """Return the station nearest to a place with the miles to it, if it is near enough."""
    if not place.is_located():
        return None
    apart = [(station, miles_between(place, station)) for station in stations]
    near = [pair for pair in apart if pair[1] <= FARTHEST_MILES]
    return min(near, key=lambda pair: pair[1], default=None)


def miles_between(place: Property | WeatherStation, other: Property | WeatherStation) -> float:
    """Return the miles between two near places, on a plane that touches the earth there."""
    (latitude, longitude), (other_latitude, other_longitude) = _degrees(place), _degrees(other)
    north = latitude - other_latitude
    east = (longitude - other_longitude) * cos(radians(latitude))
    return MILES_A_DEGREE * hypot(north, east)


def _degrees(place: Property | WeatherStation) -> tuple[float, float]:
    if isinstance(place, Property):
        return place.lies_at()
    return float(place.latitude), float(place.longitude)


def temperature_of(day: DailyWeather) -> DayTemperature:
    """Return a kept day as the rules are given it."""
    return DayTemperature(
        day=day.day,
        minimum=float(day.minimum_f),
        maximum=float(day.maximum_f),
        scale=Scale.FAHRENHEIT,
        forecast=day.source == Source.FORECAST,
        filled=day.source == Source.FILLED,
    )
