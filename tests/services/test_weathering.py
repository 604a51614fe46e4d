"""Forecasts: fetched once an hour, refused as a whole, entered by hand, stale after three hours."""

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError

from services import tasks
from services.fetching import FetchFailed
from services.models import ForecastErrand, HourlyForecast
from services.weathering import enter_forecast, fetch_forecast, forecasts_at, sweep_forecasts
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
def errand(yard):
    """The errand of the yard, due now."""
    return ForecastErrand.objects.create(yard=yard, not_before=NOW)


def test_nothing_is_fetched_unless_the_settings_say_so(errand, asked, settings):
    settings.WEATHER = False

    assert sweep_forecasts(NOW) == 0
    assert not fetch_forecast(errand.pk, now=NOW)
    assert asked == []


def test_a_forecast_is_asked_of_the_one_host_by_the_grid_of_the_yard(errand, asked):
    assert fetch_forecast(errand.pk, now=NOW)

    assert asked == [
        ("https", "api.weather.gov", "/points/40.2200,-74.8000"),
        ("https", "api.weather.gov", "/gridpoints/PHI/58,90"),
        ("https", "api.weather.gov", "/gridpoints/PHI/58,90/forecast/hourly"),
    ]


def test_a_request_says_who_can_be_asked(asked):
    # the service requires a User-Agent that identifies the application [NWS-API]
    assert service().headers == {"User-Agent": "Duskbook (owner@example.org)"}


def test_the_hours_are_kept_and_the_grid_is_remembered(errand, asked):
    fetch_forecast(errand.pk, now=NOW)
    errand.refresh_from_db()
    hour = HourlyForecast.objects.get(starts_at=datetime(2026, 7, 6, 17, tzinfo=UTC))

    assert (hour.wind_mph, hour.gust_mph) == (Decimal("15.0"), Decimal("25.3"))
    assert (errand.office, errand.grid_x, errand.grid_y, errand.elevation_ft) == (
        "PHI",
        58,
        90,
        100,
    )
    assert errand.not_before == NOW + timedelta(hours=1)


def test_an_errand_that_runs_twice_fetches_once(errand, asked):
    first, second = fetch_forecast(errand.pk, now=NOW), fetch_forecast(errand.pk, now=NOW)

    assert (first, second, len(asked)) == (True, False, 3)


def test_the_next_hour_replaces_the_rows_and_asks_for_no_point(errand, asked):
    fetch_forecast(errand.pk, now=NOW)
    rows = HourlyForecast.objects.count()
    fetch_forecast(errand.pk, now=NOW + timedelta(hours=1))

    assert HourlyForecast.objects.count() == rows
    assert len(asked) == 5


def test_an_errand_in_another_hand_is_left_alone(errand, asked):
    ForecastErrand.objects.update(leased_until=NOW + MINUTE)

    assert not fetch_forecast(errand.pk, now=NOW)
    assert fetch_forecast(errand.pk, now=NOW + 2 * MINUTE)


@pytest.mark.parametrize("reply", [None, [], {"properties": {"periods": "none"}}])
def test_a_reply_that_is_no_forecast_changes_nothing(errand, asked, monkeypatch, reply):
    fetch_forecast(errand.pk, now=NOW)
    known = HourlyForecast.objects.count()
    monkeypatch.setattr("services.weathering.errands.fetch_json", lambda *a: reply)

    assert not fetch_forecast(errand.pk, now=NOW + timedelta(hours=1))
    assert HourlyForecast.objects.count() == known


def test_a_failure_is_tried_again_later_each_time(errand, asked, monkeypatch):
    def silent(*_):
        raise FetchFailed("The answer is 503; only 200 is taken.")

    monkeypatch.setattr("services.weathering.errands.fetch_json", silent)
    fetch_forecast(errand.pk, now=NOW)
    errand.refresh_from_db()
    first = errand.not_before
    fetch_forecast(errand.pk, now=first)
    errand.refresh_from_db()

    assert first - NOW < errand.not_before - first
    assert (errand.failures, errand.last_error[:17]) == (2, "The answer is 503")


def test_the_sweep_makes_an_errand_for_each_yard_and_rings_for_it(yard, asked, monkeypatch):
    rung = []
    monkeypatch.setattr(
        "services.weathering.errands.current_app.send_task",
        lambda name, arguments, retry: rung.append((name, arguments)),
    )

    assert sweep_forecasts(NOW) == 1
    assert rung == [("services.tasks.fetch_forecast", [ForecastErrand.objects.get().pk])]


@pytest.mark.django_db
def test_the_tasks_call_the_actions():
    assert tasks.sweep_forecasts() == 0
    assert tasks.fetch_forecast(1) is False


def entered(yard, owner, at, **changed):
    told = {"starts_at": NOW, "ends_at": NOW + timedelta(hours=2), "figures": AIR} | changed
    return enter_forecast(yard, by=owner, at=at, **told)


def test_hours_entered_by_hand_are_known_for_three_hours(yard, owner, library):
    entered(yard, owner, NOW)

    for later, known in [(0, True), (179, True), (180, False), (181, False)]:
        assert forecasts_at(NOW + later * MINUTE).at(library).is_known() is known


def test_of_two_sources_the_later_is_taken(errand, asked, yard, owner, library):
    fetch_forecast(errand.pk, now=NOW)
    entered(yard, owner, NOW + MINUTE, figures=AIR | {"wind_mph": Decimal(33)})
    hour = datetime(2026, 7, 6, 14, tzinfo=UTC)

    assert forecasts_at(NOW + 2 * MINUTE).at(library).hours[hour].wind_mph == 33


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


def test_a_place_far_from_every_yard_has_no_forecast(yard, owner, library):
    entered(yard, owner, NOW)
    library.latitude = yard.latitude + Decimal("0.4")  # some 44 km

    assert forecasts_at(NOW).at(library) is None
