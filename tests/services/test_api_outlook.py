"""Weather, ladder and forecast, as programs ask for them."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from treatments.models import ScoutingCount, WeatherStation

TABLE = "date,min,max,unit\n" + "\n".join(f"2026-06-{day:02},67,87,F" for day in range(1, 31))


@pytest.fixture
def office(api, dispatcher, on_monday):
    """The office, signed in as a program."""
    api.force_authenticate(dispatcher)
    return api


@pytest.fixture
def station(db):
    """A station near the library, without a day."""
    return WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )


@pytest.fixture
def counted(rose_bed, spider_mite):
    """Six a leaf, eggs beside them."""
    return ScoutingCount.objects.create(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=datetime(2026, 6, 29, 14, tzinfo=UTC),
        leaves_looked_at=20,
        leaves_infested=18,
        eggs=250,
        adults=120,
    )


def send(api, station, table, **more):
    address = f"/api/v1/weather-stations/{station.pk}/table/"
    return api.post(address, {"table": table, **more}, format="json")


def test_a_table_twice_is_taken_in_once(office, station):
    first, again = send(office, station, TABLE), send(office, station, TABLE)

    assert first.json() == {"added": 30, "changed": 0, "same": 0, "left": 0}
    assert again.json() == {"added": 0, "changed": 0, "same": 30, "left": 0}


def test_a_faulty_table_names_row_and_column_and_keeps_nothing(office, station):
    answer = send(office, station, TABLE + "\n2026-07-01,x,87,F")

    assert answer.status_code == 422
    (fault,) = answer.json()["faults"]
    assert (fault["row"], fault["column"]) == (32, "min")
    assert station.days.count() == 0


def test_a_look_keeps_nothing(office, station):
    answer = send(office, station, TABLE, only_look=True)

    assert answer.json() == {"days": 30, "faults": []}
    assert station.days.count() == 0


def test_a_day_entered_again_is_put_right(office, station):
    told = {"station": station.pk, "day": "2026-07-01", "minimum_f": "67.0", "maximum_f": "87.0"}
    office.post("/api/v1/daily-weather/", told, format="json")

    answer = office.post("/api/v1/daily-weather/", told | {"maximum_f": "88.0"}, format="json")

    assert answer.status_code == 201
    assert [day.maximum_f for day in station.days.all()] == [88]


def test_the_ladder_of_a_planting_tells_rungs_and_reasons(office, counted, rose_bed, station):
    send(office, station, TABLE)

    (look,) = office.get(f"/api/v1/ladders/{rose_bed.pk}/").json()["pests"]

    assert [rung["standing"] for rung in look["rungs"]].count("proposed") == 1
    assert look["threshold"] == 5
    assert look["degree_days_unit"] == "°C"
    assert look["sample"]["leaves"] > 0


def test_the_forecast_of_a_course_is_told_day_by_day(office, course, counted, station):
    send(office, station, TABLE)

    (told,) = office.get(f"/api/v1/courses/{course.pk}/forecast/").json()

    assert told["expected"][0]["day"] == "2026-06-29"
    assert told["otherwise"] == []


def test_a_slip_is_asked_in_the_address(office, course, counted, station):
    send(office, station, TABLE)

    address = f"/api/v1/courses/{course.pk}/forecast/"
    (told,) = office.get(address, {"week": 2, "change": "slip", "days": 5}).json()

    assert told["changed"][0]["code"] == "more-mite-days"
    assert told["otherwise"]


def test_a_week_that_is_not_there_is_refused(office, course, counted):
    address = f"/api/v1/courses/{course.pk}/forecast/"

    assert office.get(address, {"week": 9, "change": "slip"}).status_code == 400


def test_a_count_names_what_it_is_held_against(office, rose_bed, spider_mite, second_course):
    bed = second_course.plantings.get()
    told = {
        "planting": rose_bed.pk,
        "pest": spider_mite.pk,
        "scouted_at": "2026-07-06T14:00:00Z",
        "leaves_looked_at": 20,
        "leaves_infested": 0,
        "untreated_reference": bed.pk,
    }

    answer = office.post("/api/v1/counts/", told, format="json")

    assert answer.json()["untreated_reference"] == bed.pk
