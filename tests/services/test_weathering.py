"""Forecasts: fetched cell by cell, refused as a whole, entered by hand, stale after three hours."""

import json
from copy import copy
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError

from services import tasks
from services.fetching import FetchFailed
from services.models import ForecastCell, ForecastPoint, HourlyForecast, Visit
from services.weathering import (
    enter_forecast,
    fetch_forecast,
    find_cell,
    forecasts_at,
    sweep_forecasts,
)
from services.weathering import errands as of_weather
from services.weathering.errands import service

SAMPLES = Path(__file__).resolve().parents[1] / "reference" / "weather"
NOW = datetime(2026, 7, 6, 14, 10, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
AIR = {"wind_mph": Decimal(5), "temperature_f": Decimal(75)}


def reply_of(path):
    if path.startswith("/points/"):
        name = "point"
    else:
        name = "hourly" if path.endswith("/hourly") else "grid"
    return json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture
def asked(settings, monkeypatch):
    """Let the weather service answer with samples; return the paths it was asked for."""
    settings.WEATHER, settings.WEATHER_CONTACT = True, "owner@example.org"
    paths = []

    def answer(source, path):
        paths.append((source.scheme, source.host, path))
        return reply_of(path)

    monkeypatch.setattr("services.weathering.errands.fetch_json", answer)
    return paths


@pytest.fixture
def cell(db):
    """The cell of the sample, due now."""
    return ForecastCell.objects.create(office="PHI", grid_x=58, grid_y=90, not_before=NOW)


def point_at(place, cell=None, **changed):
    """Note a place in thousandths of a degree."""
    latitude, longitude = (round(Decimal(each), 3) for each in (place.latitude, place.longitude))
    told = {"cell": cell, "not_before": NOW} | changed
    return ForecastPoint.objects.create(latitude=latitude, longitude=longitude, **told)


@pytest.fixture
def rung(monkeypatch):
    """Keep what the sweep rings for."""
    heard = []
    monkeypatch.setattr(
        "services.weathering.errands.current_app.send_task",
        lambda name, arguments, retry: heard.append((name, *arguments)),
    )
    return heard


def test_nothing_is_fetched_unless_the_settings_say_so(yard, cell, asked, settings, rung):
    settings.WEATHER = False
    point = point_at(yard)

    assert sweep_forecasts(NOW) == 0
    assert not fetch_forecast(cell.pk, now=NOW)
    assert not find_cell(point.pk, now=NOW)
    assert (asked, rung) == ([], [])


def test_a_place_is_asked_about_once_and_its_cell_is_kept(yard, asked):
    point = point_at(yard)

    assert find_cell(point.pk, now=NOW)
    assert not find_cell(point.pk, now=NOW + timedelta(days=6))
    # another form than the service's own, such as 40.2200, is answered by a redirect [NWS-API]
    assert asked == [("https", "api.weather.gov", "/points/40.22,-74.8")]
    point.refresh_from_db()
    assert str(point.cell) == "PHI 58,90"


def test_the_cell_of_a_place_is_looked_up_anew_after_a_week(yard, asked):
    point = point_at(yard)
    find_cell(point.pk, now=NOW)

    assert find_cell(point.pk, now=NOW + timedelta(days=7))


def test_a_forecast_is_asked_of_the_one_host_by_the_cell(cell, asked):
    assert fetch_forecast(cell.pk, now=NOW)

    assert asked == [
        ("https", "api.weather.gov", "/gridpoints/PHI/58,90"),
        ("https", "api.weather.gov", "/gridpoints/PHI/58,90/forecast/hourly"),
    ]


def test_a_request_says_who_can_be_asked(asked):
    # the service requires a User-Agent that identifies the application [NWS-API]
    assert service().headers == {"User-Agent": "Duskbook (owner@example.org)"}


def test_the_hours_are_kept_for_the_cell(cell, asked):
    fetch_forecast(cell.pk, now=NOW)
    cell.refresh_from_db()
    hour = HourlyForecast.objects.get(starts_at=datetime(2026, 7, 6, 17, tzinfo=UTC))

    assert (hour.wind_mph, hour.gust_mph) == (Decimal("15.0"), Decimal("25.3"))
    assert (hour.cell, hour.yard, cell.elevation_ft) == (cell, None, 100)
    assert cell.not_before == NOW + timedelta(hours=1)


def test_an_errand_that_runs_twice_fetches_once(cell, asked):
    first, second = fetch_forecast(cell.pk, now=NOW), fetch_forecast(cell.pk, now=NOW)

    assert (first, second, len(asked)) == (True, False, 2)


def test_the_next_hour_replaces_the_rows(cell, asked):
    fetch_forecast(cell.pk, now=NOW)
    rows = HourlyForecast.objects.count()
    fetch_forecast(cell.pk, now=NOW + timedelta(hours=1))

    assert HourlyForecast.objects.count() == rows
    assert len(asked) == 4


def test_an_errand_in_another_hand_is_left_alone(cell, asked):
    ForecastCell.objects.update(leased_until=NOW + MINUTE)

    assert not fetch_forecast(cell.pk, now=NOW)
    assert fetch_forecast(cell.pk, now=NOW + 2 * MINUTE)


@pytest.mark.parametrize("reply", [None, [], {"properties": {"periods": "none"}}])
def test_a_reply_that_is_no_forecast_changes_nothing(yard, cell, asked, monkeypatch, reply):
    point = point_at(yard, cell)
    fetch_forecast(cell.pk, now=NOW)
    known = HourlyForecast.objects.count()
    monkeypatch.setattr("services.weathering.errands.fetch_json", lambda *a: reply)

    assert not fetch_forecast(cell.pk, now=NOW + timedelta(hours=1))
    assert not find_cell(point.pk, now=NOW + timedelta(hours=1))
    assert HourlyForecast.objects.count() == known
    assert ForecastPoint.objects.get().cell == cell


def test_a_failure_is_tried_again_later_each_time(cell, asked, monkeypatch):
    def silent(*_):
        raise FetchFailed("The answer is 503; only 200 is taken.")

    monkeypatch.setattr("services.weathering.errands.fetch_json", silent)
    fetch_forecast(cell.pk, now=NOW)
    cell.refresh_from_db()
    first = cell.not_before
    fetch_forecast(cell.pk, now=first)
    cell.refresh_from_db()

    assert first - NOW < cell.not_before - first
    assert (cell.failures, cell.last_error[:17]) == (2, "The answer is 503")


def planned_on(day):
    Visit.objects.update(earliest=day, planned=day, latest=day)


def test_the_sweep_rings_for_yards_and_for_places_of_visits_that_are_due(yard, visits, asked, rung):
    planned_on(NOW.date() + timedelta(days=8))
    sweep_forecasts(NOW)
    yards_only = len(rung)
    planned_on(NOW.date() + timedelta(days=7))
    sweep_forecasts(NOW)

    assert yards_only == 1
    assert {name for name, _pk in rung} == {"services.tasks.find_cell"}
    assert ForecastPoint.objects.count() == 2


def test_no_run_asks_for_more_than_is_bounded(asked, rung, yard, cell, monkeypatch):
    monkeypatch.setattr(of_weather, "forget_points", lambda: None)
    for number in range(50):
        later = NOW - number * MINUTE
        latitude = Decimal("40.1") + Decimal(number) / 1000
        ForecastPoint.objects.create(latitude=latitude, longitude=-75, not_before=later)
        ForecastCell.objects.create(office="PHI", grid_x=number, grid_y=1, not_before=later)

    assert sweep_forecasts(NOW) == of_weather.MOST_POINTS + of_weather.MOST_CELLS == len(rung)
    oldest = ForecastCell.objects.order_by("not_before").first()
    assert ("services.tasks.fetch_forecast", oldest.pk) in rung


def test_a_place_that_is_no_more_is_forgotten_with_its_cell(yard, library, cell, rung):
    point_at(yard)
    point_at(library, cell)
    library.latitude += 1
    library.save()
    sweep_forecasts(NOW)

    assert ForecastPoint.objects.get().latitude == round(Decimal(yard.latitude), 3)
    assert not ForecastCell.objects.exists()


def test_a_stop_goes_by_its_own_cell_and_neighbors_share_one(yard, library, cell, asked):
    other = ForecastCell.objects.create(office="PHI", grid_x=59, grid_y=90, not_before=NOW)
    point_at(yard, other)
    point_at(library, cell)
    fetch_forecast(cell.pk, now=NOW)
    neighbor = copy(library)
    neighbor.pk, neighbor.latitude = None, library.latitude + Decimal("0.0001")
    known = forecasts_at(NOW)

    assert known.at(library).is_known()
    assert known.at(neighbor).cell == cell
    assert not known.of(yard).is_known()


def test_a_place_whose_cell_is_not_known_is_unknown(yard, library, cell, asked):
    point_at(yard, cell)
    fetch_forecast(cell.pk, now=NOW)

    assert forecasts_at(NOW).of(yard).is_known()
    assert not forecasts_at(NOW).at(library).is_known()


@pytest.mark.django_db
def test_the_tasks_call_the_actions():
    assert tasks.sweep_forecasts() == 0
    assert tasks.find_cell(1) is False
    assert tasks.fetch_forecast(1) is False


def entered(yard, owner, at, **changed):
    told = {"starts_at": NOW, "ends_at": NOW + timedelta(hours=2), "figures": AIR} | changed
    return enter_forecast(yard, by=owner, at=at, **told)


def test_hours_entered_by_hand_are_known_for_three_hours(yard, owner, library):
    entered(yard, owner, NOW)

    for later, known in [(0, True), (179, True), (180, False), (181, False)]:
        assert forecasts_at(NOW + later * MINUTE).at(library).is_known() is known


def test_of_two_sources_the_later_is_taken(cell, asked, yard, owner, library):
    point_at(library, cell)
    fetch_forecast(cell.pk, now=NOW)
    entered(yard, owner, NOW + MINUTE, figures=AIR | {"wind_mph": Decimal(33)})
    hour = datetime(2026, 7, 6, 14, tzinfo=UTC)

    assert forecasts_at(NOW + 2 * MINUTE).at(library).hours[hour].wind_mph == 33
    fetch_forecast(cell.pk, now=NOW + timedelta(hours=1))
    assert forecasts_at(NOW + timedelta(hours=1)).at(library).hours[hour].wind_mph == Decimal("5.8")


def test_hours_entered_again_replace_the_former(yard, owner):
    entered(yard, owner, NOW)
    entered(yard, owner, NOW + MINUTE)

    assert HourlyForecast.objects.count() == 2  # 14:00 and 15:00, of which it is 14:10


@pytest.mark.parametrize(
    "changed",
    [
        {"ends_at": NOW},
        {"ends_at": NOW + timedelta(hours=49)},
        {"figures": {"wind_mph": None}},
        {"figures": {"humidity_percent": Decimal(101)}},
        {"figures": {"wind_mph": Decimal(-1)}},
    ],
)
def test_hours_that_cannot_be_are_refused(yard, owner, changed):
    with pytest.raises(ValidationError):
        entered(yard, owner, NOW, **changed)

    assert not HourlyForecast.objects.exists()


@pytest.mark.parametrize(("degrees", "is_near"), [("0.36", True), ("0.37", False)])
def test_entered_hours_stand_for_25_miles_about_the_yard(yard, owner, library, degrees, is_near):
    # a degree of latitude is 69.09 miles on a sphere of 6,371,008.8 m: 24.9 and 25.6 miles
    entered(yard, owner, NOW)
    library.latitude = yard.latitude + Decimal(degrees)
    library.longitude = yard.longitude

    assert (forecasts_at(NOW).at(library) is not None) is is_near
