"""Sunrise, sunset and dusk against a full solar-position algorithm, and the windows from them."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from treatments.rules.daylight import (
    Place,
    civil_dawn,
    civil_dusk,
    dusk_window,
    morning_window,
    sunrise,
    sunset,
)

COLUMBUS = Place(39.9612, -82.9988, "America/New_York")
MIAMI = Place(25.7617, -80.1918, "America/New_York")
SEATTLE = Place(47.6062, -122.3321, "America/Los_Angeles")
ANCHORAGE = Place(61.2181, -149.9003, "America/Anchorage")
UTQIAGVIK = Place(71.2906, -156.7886, "America/Anchorage")

# Sunrise, sunset, civil dusk to the whole second by the solar-position algorithm of [NREL-SPA],
# and how many seconds the simpler almanac may differ: 30 in the lower 48 states, 41 in Alaska.
SUN = [
    (COLUMBUS, date(2026, 3, 20), "07:35:15", "19:44:06", "20:11:07", 30),
    (COLUMBUS, date(2026, 6, 21), "06:03:29", "21:04:13", "21:37:03", 30),
    (COLUMBUS, date(2026, 9, 15), "07:13:04", "19:40:30", "20:07:36", 30),
    (COLUMBUS, date(2026, 12, 21), "07:50:12", "17:10:06", "17:40:41", 30),
    (MIAMI, date(2026, 6, 21), "06:30:08", "20:15:07", "20:41:08", 30),
    (SEATTLE, date(2026, 6, 21), "05:11:34", "21:10:49", "21:51:34", 30),
    (SEATTLE, date(2026, 9, 15), "06:46:55", "19:21:00", "19:51:55", 30),
    (ANCHORAGE, date(2026, 6, 21), "04:20:15", "23:42:41", None, 41),
]


def seconds_apart(found, day, clock):
    expected = datetime.combine(day, time.fromisoformat(clock), found.tzinfo)
    return abs((found.replace(microsecond=0) - expected).total_seconds())


@pytest.mark.parametrize(("place", "day", "rises", "sets", "dusk", "tolerance"), SUN)
def test_sunrise_and_sunset_agree_with_nrel_spa(place, day, rises, sets, dusk, tolerance):
    assert seconds_apart(sunrise(place, day), day, rises) <= tolerance
    assert seconds_apart(sunset(place, day), day, sets) <= tolerance


@pytest.mark.parametrize(("place", "day", "rises", "sets", "dusk", "tolerance"), SUN[:-1])
def test_civil_dusk_agrees_with_nrel_spa(place, day, rises, sets, dusk, tolerance):
    assert seconds_apart(civil_dusk(place, day), day, dusk) <= tolerance


def test_civil_dusk_never_comes_to_anchorage_at_midsummer_by_nrel_spa():
    assert civil_dusk(ANCHORAGE, date(2026, 6, 21)) is None


@pytest.mark.parametrize(("place", "day", "rises", "sets", "dusk", "tolerance"), SUN[:-1])
def test_the_dusk_window_ends_before_the_dusk_of_nrel_spa(place, day, rises, sets, dusk, tolerance):
    true_dusk = datetime.combine(day, time.fromisoformat(dusk), ZoneInfo(place.zone))

    window = dusk_window(place, day)

    assert window.closes < true_dusk


@pytest.mark.parametrize(("place", "day", "rises", "sets", "dusk", "tolerance"), SUN[:-1])
def test_the_dusk_window_opens_no_earlier_than_nrel_spa_allows(
    place, day, rises, sets, dusk, tolerance
):
    true_sunset = datetime.combine(day, time.fromisoformat(sets), ZoneInfo(place.zone))

    window = dusk_window(place, day, 45)

    assert window.opens >= true_sunset - timedelta(minutes=45)


def test_without_other_words_an_hour_before_sunset_and_after_sunrise_counts():
    # common practice: 60 minutes
    day = date(2026, 9, 15)

    assert dusk_window(COLUMBUS, day) == dusk_window(COLUMBUS, day, 60)
    assert morning_window(COLUMBUS, day) == morning_window(COLUMBUS, day, 60)


def test_a_window_is_whole_minutes_of_the_places_own_clock():
    window = dusk_window(SEATTLE, date(2026, 6, 21), 45)

    assert (window.opens.time(), window.closes.time()) == (time(20, 27), time(21, 51))
    assert window.opens.tzinfo == ZoneInfo("America/Los_Angeles")


def test_a_window_holds_its_ends_and_nothing_beyond():
    window = dusk_window(COLUMBUS, date(2026, 6, 21))

    assert window.holds(window.opens)
    assert window.holds(window.closes)
    assert not window.holds(window.opens - timedelta(seconds=1))
    assert not window.holds(window.closes + timedelta(seconds=1))


def test_a_day_without_dusk_says_so():
    window = dusk_window(ANCHORAGE, date(2026, 6, 21))

    assert not window.is_open()
    assert window.missing.code == "no-dusk"
    assert "2026-06-21" in window.missing.say()
    assert not window.holds(datetime(2026, 6, 21, 23, 50, tzinfo=ZoneInfo("America/Anchorage")))


def test_a_day_without_sunset_says_so():
    assert dusk_window(UTQIAGVIK, date(2026, 6, 21)).missing.code == "no-sunset"


def test_a_day_without_sunrise_has_no_morning_window():
    assert morning_window(UTQIAGVIK, date(2026, 12, 21)).missing.code == "no-sunrise"


def test_a_night_that_does_not_get_dark_has_no_morning_window():
    assert morning_window(ANCHORAGE, date(2026, 6, 21)).missing.code == "no-dawn"


def test_the_morning_window_runs_from_dawn_to_past_sunrise():
    day = date(2026, 9, 15)

    window = morning_window(COLUMBUS, day, 30)

    assert civil_dawn(COLUMBUS, day) < window.opens < sunrise(COLUMBUS, day)
    assert window.closes <= sunrise(COLUMBUS, day) + timedelta(minutes=29)


def test_minutes_before_sunset_may_be_none_but_not_negative():
    assert dusk_window(COLUMBUS, date(2026, 6, 21), 0).is_open()
    with pytest.raises(ValueError, match="0 or more"):
        dusk_window(COLUMBUS, date(2026, 6, 21), -1)


def test_the_poles_and_the_date_line_lie_on_the_globe():
    assert Place(90, 180, "UTC").latitude == 90
    assert Place(-90, -180, "UTC").longitude == -180


@pytest.mark.parametrize(("latitude", "longitude"), [(91, 0), (90.5, 0), (0, 181), (0, -180.5)])
def test_a_place_off_the_globe_is_refused(latitude, longitude):
    with pytest.raises(ValueError, match="90 degrees"):
        Place(latitude, longitude, "America/New_York")
