"""The pages of the weather: what is known, what is not, and hours entered by hand."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from services.models import ForecastCell, ForecastPoint, HourlyForecast

HOURS = {
    "day": "2026-07-06",
    "begins": "18:00",
    "ends": "21:00",
    "wind_mph": "4",
    "temperature_f": "74",
}


def typed(yard, **changed):
    return HOURS | {"yard": yard.pk} | changed


def test_what_is_not_known_is_not_shown_as_calm(client, owner, yard, on_monday):
    client.force_login(owner)
    page = client.get("/weather/").content.decode()

    assert "Nothing is known of the coming hours here; that is not calm." in page


def test_entered_hours_are_shown_with_what_is_unknown(client, owner, yard, on_monday):
    client.force_login(owner)

    assert client.post("/weather/enter/", typed(yard)).url == "/weather/"
    page = client.get("/weather/").content.decode()

    # 18:00 on the Delaware in July is 22:00 UTC [IANA America/New_York]
    assert HourlyForecast.objects.earliest("starts_at").starts_at.hour == 22
    assert HourlyForecast.objects.count() == 3
    assert "entered by hand" in page
    assert "unknown" in page


def test_hours_may_run_over_midnight(client, owner, yard, on_monday):
    client.force_login(owner)
    client.post("/weather/enter/", typed(yard, begins="22:00", ends="02:00"))

    assert HourlyForecast.objects.count() == 4


@pytest.mark.parametrize(
    "changed",
    [
        {"wind_mph": "gusty"},
        {"wind_mph": "-3"},
        {"humidity": "50", "wind_mph": "", "temperature_f": ""},
        {"day": "2026-03-08", "begins": "02:30"},
        {"yard": "999999"},
        {"begins": ""},
    ],
)
def test_what_cannot_be_is_said_and_nothing_is_kept(client, owner, yard, on_monday, changed):
    client.force_login(owner)

    assert client.post("/weather/enter/", typed(yard) | changed).status_code == 422
    assert not HourlyForecast.objects.exists()


LATER = datetime(2026, 7, 6, 15, tzinfo=UTC)


def point_at(place, **changed):
    latitude, longitude = round(place.latitude, 3), round(place.longitude, 3)
    told = {"latitude": latitude, "longitude": longitude, "not_before": LATER} | changed
    return ForecastPoint.objects.create(**told)


def test_a_failure_of_fetching_is_told(client, owner, yard, on_monday, settings):
    settings.WEATHER = True
    said = {"not_before": LATER, "last_error": "The answer is <b>503</b>."}
    cell = ForecastCell.objects.create(office="PHI", grid_x=58, grid_y=90, **said)
    yard.refresh_from_db()
    point_at(yard, cell=cell)
    client.force_login(owner)
    page = client.get("/weather/").content.decode()

    assert "could not be fetched: The answer is &lt;b&gt;503&lt;/b&gt;." in page


def test_the_hours_of_a_cell_stand_under_the_places_that_lie_in_it(
    client, owner, yard, visits, library, on_monday, settings
):
    settings.WEATHER = True
    library.refresh_from_db()
    cell = ForecastCell.objects.create(office="PHI", grid_x=58, grid_y=90, not_before=LATER)
    client.force_login(owner)
    unknown = client.get("/weather/").content.decode()
    point_at(library, cell=cell)
    page = client.get("/weather/").content.decode()

    assert "Places whose cell is not known yet" in unknown
    assert "cell PHI 58,90" in page
    assert f"<summary>{library}" in page
    assert "within 25 miles" in page


@pytest.mark.parametrize("address", ["/weather/", "/weather/enter/"])
def test_only_the_staff_sees_the_weather(client, technician, inspector, address):
    assert client.get(address).url.startswith("/accounts/login/")

    for person in (technician, inspector):
        client.force_login(person)
        assert client.get(address).status_code == 403


def test_more_hours_do_not_take_more_queries(queries_of, yard, on_monday):
    first = queries_of("/weather/")
    now = datetime(2026, 7, 6, 14, tzinfo=UTC)
    HourlyForecast.objects.bulk_create(
        HourlyForecast(
            yard=yard,
            starts_at=now + timedelta(hours=number),
            wind_mph=Decimal(4),
            source="person",
            fetched_at=now,
        )
        for number in range(30)
    )

    assert queries_of("/weather/") == first
