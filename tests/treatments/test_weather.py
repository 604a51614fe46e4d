"""Daily temperatures: taken in whole or not at all, and read for the nearest place."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from treatments.models import DailyWeather, WeatherStation
from treatments.weather import (
    TableFaulty,
    enter_day,
    miles_between,
    nearest_station,
    take_in_table,
    weather_near,
)

TABLE = "date,min,max,unit,kind\n2026-07-01,63,85,F,\n2026-07-02,17,29.5,C,measured\n"
FIRST = date(2026, 7, 1)


@pytest.fixture
def station(db):
    """A station about a mile from the library."""
    return WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )


def test_a_table_is_kept_in_fahrenheit(station):
    take_in_table(station=station, text=TABLE)

    # 29.5 C are 85.1 F, by the definition of both scales
    assert list(station.days.values_list("minimum_f", "maximum_f")) == [
        (Decimal("63.0"), Decimal("85.0")),
        (Decimal("62.6"), Decimal("85.1")),
    ]


def test_the_same_table_twice_is_taken_in_once(station):
    first = take_in_table(station=station, text=TABLE)
    again = take_in_table(station=station, text=TABLE)

    assert (first.added, again.added, again.same) == (2, 0, 2)
    assert station.days.count() == 2


def test_of_a_faulty_table_nothing_is_kept_and_every_fault_is_named(station):
    with pytest.raises(TableFaulty) as refused:
        take_in_table(station=station, text=TABLE + "2026-07-03,x,90,F,\n2026-07-04,60,80,K,\n")

    assert station.days.count() == 0
    assert [message[:13] for message in refused.value.messages] == [
        "Row 4, column",
        "Row 5, column",
    ]


def test_what_was_measured_takes_the_place_of_a_forecast(station):
    day = {"station": station, "day": FIRST, "minimum_f": Decimal(60), "maximum_f": Decimal(80)}
    enter_day(**day, source=DailyWeather.Source.FORECAST)

    taken = take_in_table(station=station, text=TABLE)

    assert (taken.added, taken.changed) == (1, 1)
    assert station.days.get(day=FIRST).source == DailyWeather.Source.MEASURED


def test_a_forecast_never_takes_the_place_of_what_was_measured(station):
    take_in_table(station=station, text=TABLE)

    taken = take_in_table(
        station=station, text="date,min,max,unit,kind\n2026-07-01,70,99,F,forecast\n"
    )

    assert taken.left == 1
    assert station.days.get(day=FIRST).maximum_f == 85


def test_a_highest_below_the_lowest_is_refused(station):
    with pytest.raises(ValidationError, match="does not lie below"):
        enter_day(station=station, day=FIRST, minimum_f=Decimal("70.1"), maximum_f=Decimal(70))


def test_a_day_as_warm_as_it_is_cold_is_kept(station):
    enter_day(station=station, day=FIRST, minimum_f=Decimal(70), maximum_f=Decimal(70))

    assert station.days.count() == 1


def test_miles_are_those_of_the_earth():
    # A degree of latitude is 69 statute miles, one of longitude 69.17 cos(latitude): from memory.
    here = WeatherStation(latitude=Decimal(40), longitude=Decimal(-75))
    north = WeatherStation(latitude=Decimal(41), longitude=Decimal(-75))
    east = WeatherStation(latitude=Decimal(40), longitude=Decimal(-74))

    assert miles_between(here, north) == pytest.approx(69, abs=0.5)
    assert miles_between(here, east) == pytest.approx(53, abs=0.5)


@pytest.mark.parametrize(("north", "is_near"), [("40.68", True), ("40.69", False)])
def test_a_station_beyond_thirty_miles_tells_nothing(library, station, north, is_near):
    station.latitude, station.longitude = Decimal(north), library.longitude
    station.save()

    assert (nearest_station(library, [station]) is not None) == is_near


def test_the_nearest_station_is_asked(library, station):
    far = WeatherStation.objects.create(
        name="Hill", latitude=Decimal("40.40"), longitude=Decimal("-74.84")
    )
    take_in_table(station=far, text=TABLE)
    take_in_table(station=station, text=TABLE)

    found = weather_near(library, FIRST, FIRST)

    assert found.station == station
    assert [day.day for day in found.days] == [FIRST]
