"""The hours of a day for spraying: each limit on both sides, and what is not known never calm."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.spray_hours import (
    Cause,
    DayFrame,
    Verdict,
    cause_to_hold,
    dry_hours_after,
    fit_hours,
    hours_to_hold,
    spray_hours,
    stretches,
    without,
)
from services.rules.weather import ForecastHour
from treatments.rules.facts import IngredientFacts, ProductFacts, SeparationClass

SIX = datetime(2026, 7, 6, 10, tzinfo=UTC)  # 6:00 on the Delaware
HOUR = timedelta(hours=1)
ALL_DAY = ((SIX, SIX + 14 * HOUR),)
FRAME = DayFrame(SIX, SIX + 14 * HOUR, ALL_DAY)
OIL = IngredientFacts("mineral oil", separation_class=SeparationClass.OIL)


def product(**limits):
    return ProductFacts("Still Oil", "0-102", limits.pop("ingredients", ()), (), **limits)


def forecast(**told):
    figures = {
        "temperature_f": 72,
        "humidity_percent": 55,
        "wind_mph": 5,
        "gust_mph": None,
        "rain_percent": 0,
    } | told
    return {name: None if value is None else Decimal(value) for name, value in figures.items()}


def hours_of(number=14, **told):
    return {SIX + n * HOUR: ForecastHour(SIX + n * HOUR, **forecast(**told)) for n in range(number)}


def first(hours, *products, frame=FRAME):
    return spray_hours(frame, hours, products)[0]


def test_a_mild_dry_hour_with_a_light_breeze_is_good():
    assert first(hours_of(48)).verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("mph", "verdict"),
    # 3 to 8 mph are advised [PES-DRIFT], 10 is the stop of common practice
    [
        ("2.9", Verdict.CARE),
        (3, Verdict.GOOD),
        (8, Verdict.GOOD),
        ("8.1", Verdict.CARE),
        (10, Verdict.CARE),
        ("10.1", Verdict.HOLD),
    ],
)
def test_wind_at_its_limits(mph, verdict):
    assert first(hours_of(48, wind_mph=mph)).verdict is verdict


@pytest.mark.parametrize(("mph", "verdict"), [(15, Verdict.CARE), ("15.1", Verdict.HOLD)])
def test_the_label_goes_before_common_practice(mph, verdict):
    label = product(wind_maximum_mph=Decimal(15))

    assert first(hours_of(48, wind_mph=mph), label).verdict is verdict


def test_a_wind_that_is_not_known_is_not_calm_and_closes_nothing():
    hour = first(hours_of(48, wind_mph=None))

    assert hour.verdict is Verdict.UNKNOWN
    assert hours_to_hold([hour]) == ()


def test_an_hour_of_which_nothing_is_told_is_unknown():
    assert {hour.verdict for hour in spray_hours(FRAME, {}, [product()])} == {Verdict.UNKNOWN}


@pytest.mark.parametrize(
    ("minutes_after_sunrise", "verdict"), [(119, Verdict.HOLD), (120, Verdict.CARE)]
)
def test_still_air_soon_after_sunrise_is_to_hold(minutes_after_sunrise, verdict):
    # it is strongest at sunrise [CANOLA-INVERSION]; two hours are common practice
    rose = SIX - timedelta(minutes=minutes_after_sunrise)
    frame = DayFrame(SIX, SIX + HOUR, ALL_DAY, sunrise=rose)

    assert first(hours_of(48, wind_mph=2), frame=frame).verdict is verdict


def test_still_air_before_sunset_is_to_hold():
    frame = DayFrame(SIX, SIX + 3 * HOUR, ALL_DAY, sunset=SIX + 4 * HOUR)

    # the third hour ends an hour before sunset, the second two hours before it
    hours = spray_hours(frame, hours_of(48, wind_mph=2), [])
    assert [hour.verdict for hour in hours] == [Verdict.CARE, Verdict.CARE, Verdict.HOLD]


def test_a_breeze_near_sunset_is_good_and_tells_of_the_inversion():
    frame = DayFrame(SIX, SIX + HOUR, ALL_DAY, sunset=SIX + HOUR)
    hour = first(hours_of(48), frame=frame)

    assert hour.verdict is Verdict.GOOD
    assert [finding.code for finding in hour.findings] == ["inversion-likely"]
    assert hour.causes() == ()


FIGURES = {
    name: st.none() | st.integers(0, most).map(Decimal)
    for name, most in [
        ("temperature_f", 130),
        ("humidity_percent", 100),
        ("wind_mph", 40),
        ("gust_mph", 60),
        ("rain_percent", 100),
    ]
}


@given(figures=st.fixed_dictionaries(FIGURES), dry=st.none() | st.integers(0, 12).map(Decimal))
def test_every_hour_that_is_not_good_names_its_cause(figures, dry):
    label = product(ingredients=(OIL,), rainfast_hours=dry, temperature_minimum_f=Decimal(40))
    hour = first(
        {SIX + n * HOUR: ForecastHour(SIX + n * HOUR, **figures) for n in range(48)}, label
    )

    assert bool(hour.causes()) is (hour.verdict is not Verdict.GOOD)


@pytest.mark.parametrize(("dry", "verdict"), [(3, Verdict.HOLD), (4, Verdict.GOOD)])
def test_rain_before_the_labels_dry_hours_are_over_is_to_hold(dry, verdict):
    # the hour itself, then so many dry ones, then rain
    wet = SIX + (dry + 1) * HOUR
    hours = hours_of(48) | {wet: ForecastHour(wet, **forecast(rain_percent=50))}

    assert first(hours, product(rainfast_hours=Decimal(4))).verdict is verdict


@pytest.mark.parametrize(("percent", "verdict"), [(49, Verdict.GOOD), (50, Verdict.HOLD)])
def test_an_hour_in_which_rain_is_likely_is_to_hold(percent, verdict):
    hours = hours_of(48) | {SIX: ForecastHour(SIX, **forecast(rain_percent=percent))}

    assert first(hours).verdict is verdict


def test_a_forecast_that_ends_before_the_dry_hours_do_is_not_known_to_be_dry():
    label = product(rainfast_hours=Decimal(6))

    assert first(hours_of(6), label).verdict is Verdict.UNKNOWN
    assert first(hours_of(7), label).verdict is Verdict.GOOD


def test_a_chance_of_rain_that_is_null_is_not_dry():
    hours = hours_of(48)
    gap = SIX + 2 * HOUR
    hours[gap] = ForecastHour(gap, **forecast(rain_percent=None))

    assert dry_hours_after(SIX, hours, needed=6) is None


@pytest.mark.parametrize(("wet", "dry"), [(1, 0), (2, 1), (48, 47), (None, 48)])
def test_the_hours_until_rain_are_counted_for_two_days(wet, dry):
    # hand count; that no more than two days are looked at is our own choice
    hours = hours_of(60)
    if wet:
        hours[SIX + wet * HOUR] = ForecastHour(SIX + wet * HOUR, **forecast(rain_percent=50))

    assert dry_hours_after(SIX, hours, needed=6) == dry


@pytest.mark.parametrize(("needed", "dry"), [(3, 3), (4, None)])
def test_as_many_dry_hours_as_are_known_are_enough_where_no_more_matter(needed, dry):
    assert dry_hours_after(SIX, hours_of(4), needed) == dry  # three hours after the first


@pytest.mark.parametrize(("degrees", "verdict"), [(90, Verdict.CARE), (91, Verdict.HOLD)])
def test_oil_is_held_above_its_heat(degrees, verdict):
    # not above 90 °F for oil [UC-IPM-PN7493], with care above 85 [WSU-OIL]
    oil = product(ingredients=(OIL,))
    hours = hours_of(48, temperature_f=degrees, humidity_percent=65)

    assert first(hours, oil).verdict is verdict


def test_air_that_dries_drops_before_they_land_is_to_hold():
    # 35 °C and 20 percent are a Delta T of about 16 °C; above 10 is not to spray [SPRAYERS101]
    hour = first(hours_of(48, temperature_f=95, humidity_percent=20))

    assert (hour.verdict, hour.causes()) == (Verdict.HOLD, (Cause.DRY_AIR,))


@pytest.mark.parametrize(("gust", "verdict"), [(10, Verdict.GOOD), ("10.1", Verdict.CARE)])
def test_gusts_above_the_limit_ask_for_care(gust, verdict):
    assert first(hours_of(48, gust_mph=gust)).verdict is verdict


def test_an_hour_outside_access_is_shut_whatever_the_air():
    frame = DayFrame(SIX, SIX + 2 * HOUR, ((SIX + HOUR, SIX + 2 * HOUR),))

    hours = spray_hours(frame, hours_of(48, wind_mph=20), [])
    assert [hour.verdict for hour in hours] == [Verdict.SHUT, Verdict.HOLD]


def test_an_hour_that_begins_when_access_ends_is_shut():
    frame = DayFrame(SIX, SIX + 2 * HOUR, ((SIX, SIX + HOUR),))

    hours = spray_hours(frame, hours_of(48), [])
    assert [hour.verdict for hour in hours] == [Verdict.GOOD, Verdict.SHUT]


def test_hours_in_a_row_are_put_together():
    hours = hours_of(48)
    for number in (1, 2):
        at = SIX + number * HOUR
        hours[at] = ForecastHour(at, **forecast(wind_mph=14))
    told = spray_hours(DayFrame(SIX, SIX + 4 * HOUR, ALL_DAY), hours, [])

    assert hours_to_hold(told) == ((SIX + HOUR, SIX + 3 * HOUR),)
    assert fit_hours(told) == ((SIX, SIX + HOUR), (SIX + 3 * HOUR, SIX + 4 * HOUR))
    assert [each.causes for each in stretches(told)] == [(), (Cause.WIND,), ()]


def test_a_hold_is_advised_only_where_every_open_hour_is_known_to_be_bad():
    bad = spray_hours(FRAME, hours_of(14, wind_mph=20), [])
    mixed = spray_hours(FRAME, hours_of(13, wind_mph=20), [])

    assert cause_to_hold(bad, SIX, SIX + 14 * HOUR) is Cause.WIND
    assert cause_to_hold(mixed, SIX, SIX + 14 * HOUR) is None
    assert cause_to_hold(mixed, SIX, SIX + 2 * HOUR) is Cause.WIND
    assert cause_to_hold([], SIX, SIX + HOUR) is None


def test_hours_that_only_touch_a_visit_do_not_speak_for_it():
    hours = hours_of(3) | {SIX + HOUR: ForecastHour(SIX + HOUR, **forecast(wind_mph=20))}
    told = spray_hours(DayFrame(SIX, SIX + 3 * HOUR, ALL_DAY), hours, [])

    assert cause_to_hold(told, SIX + HOUR, SIX + 2 * HOUR) is Cause.WIND
    assert cause_to_hold(told, SIX, SIX + 2 * HOUR) is None


@pytest.mark.parametrize(
    ("closed", "left"),
    [
        ([], [(0, 4)]),
        ([(1, 2)], [(0, 1), (2, 4)]),
        ([(0, 4)], []),
        ([(-1, 1), (3, 9)], [(1, 3)]),
        ([(5, 6)], [(0, 4)]),
    ],
)
def test_windows_less_the_closed_hours(closed, left):
    def as_hours(pairs):
        return [(SIX + a * HOUR, SIX + b * HOUR) for a, b in pairs]

    assert without(as_hours([(0, 4)]), as_hours(closed)) == as_hours(left)
