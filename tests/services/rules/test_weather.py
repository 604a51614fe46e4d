"""Forecasts as the weather service writes them: read exactly, or refused as a whole."""

import copy
import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.weather import (
    ForecastHour,
    GridCell,
    WeatherUnreadable,
    both,
    cell_of_point,
    elevation_of_grid,
    hours_of_grid,
    hours_of_interval,
    hours_of_periods,
    upper_wind_mph,
)

# The shape is the service's own [NWS-API]; the numbers are invented.
SAMPLES = Path(__file__).resolve().parents[2] / "reference" / "weather"
READERS = [cell_of_point, hours_of_periods, hours_of_grid]


def sample(name):
    return json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))


def at(hours, hour, day=6):
    return next(
        each for each in hours if each.starts_at == datetime(2026, 7, day, hour, tzinfo=UTC)
    )


def test_a_point_names_its_grid_cell():
    assert cell_of_point(sample("point")) == GridCell("PHI", 58, 90)


def test_a_period_is_told_in_universal_time():
    hours = hours_of_periods(sample("hourly"))

    # 10:00 with the offset -04:00 is 14:00 UTC [NWS-API]
    assert hours[0].starts_at == datetime(2026, 7, 6, 14, tzinfo=UTC)
    assert hours[0].temperature_f == 76


@pytest.mark.parametrize(
    ("words", "mph"), [("5 to 10 mph", "10"), ("10 mph", "10"), ("0 mph", "0"), ("16 km/h", "9.9")]
)
def test_of_a_range_of_wind_the_stronger_is_taken(words, mph):
    # 16 km/h are 16 / 1.609344 = 9.94 mph
    assert upper_wind_mph(words) == Decimal(mph)


@pytest.mark.parametrize("words", ["calm", "10", "ten mph", "-5 mph", "5 to mph", "5 mph; 9"])
def test_a_wind_in_other_words_is_refused(words):
    with pytest.raises(WeatherUnreadable, match="no wind such as"):
        upper_wind_mph(words)


def test_what_is_null_is_unknown_and_never_calm():
    late = at(hours_of_periods(sample("hourly")), 1, day=7)

    assert (late.wind_mph, late.rain_percent, late.humidity_percent) == (None, None, None)


def test_an_interval_covers_its_hours():
    # ISO 8601: P1DT6H are 30 hours
    assert len(hours_of_interval("2026-07-12T12:00:00+00:00/P1DT6H")) == 30


def test_half_an_hour_touches_the_hour_it_lies_in():
    assert hours_of_interval("2026-07-12T12:30:00+00:00/PT30M") == (
        datetime(2026, 7, 12, 12, tzinfo=UTC),
    )


@pytest.mark.parametrize(
    "interval",
    [
        "2026-07-12T12:00:00+00:00",
        "2026-07-12T12:00:00/PT6H",
        "2026-07-12T12:00:00+00:00/P",
        "2026-07-12T12:00:00+00:00/PT",
        "2026-07-12T12:00:00+00:00/P1DT",
        "2026-07-12T12:00:00+00:00/PT0H",
        "2026-07-12T12:00:00+00:00/P99D",
        "9999-12-31T23:00:00+00:00/PT6H",
        "/PT1H",
    ],
)
def test_an_interval_that_is_none_or_has_no_end_is_refused(interval):
    with pytest.raises(WeatherUnreadable):
        hours_of_interval(interval)


def test_the_grid_is_told_in_our_units():
    hour = at(hours_of_grid(sample("grid")), 17)

    # 24.076 km/h are 13 knots or 14.96 mph, 29.44 °C are 85 °F
    assert hour.wind_mph == Decimal("15.0")
    assert hour.temperature_f == Decimal("85.0")
    assert elevation_of_grid(sample("grid")) == 100  # 30.48 m are 100 ft, by definition


def test_of_both_forecasts_the_stronger_wind_and_the_likelier_rain_are_taken():
    hours = both(hours_of_periods(sample("hourly")), hours_of_grid(sample("grid")))
    windy, wet = at(hours, 17), at(hours, 19)

    # 13:00 local: "10 to 15 mph" beside 14.96 mph; gusts stand in the grid alone
    assert (windy.wind_mph, windy.gust_mph) == (Decimal("15.0"), Decimal("25.3"))
    # 15:00 local: 60 percent beside 65
    assert wet.rain_percent == 65


def test_what_one_forecast_does_not_know_the_other_fills_in():
    hours = both(hours_of_periods(sample("hourly")), hours_of_grid(sample("grid")))

    assert at(hours, 1, day=7).wind_mph is None
    assert at(hours, 1, day=7).rain_percent == 5


def wrong_figures():
    nowhere = sample("hourly")
    nowhere["properties"]["periods"][0]["startTime"] = "2026-07-06T10:00:00"
    hot, wet, odd = (copy.deepcopy(sample("hourly")) for _ in range(3))
    hot["properties"]["periods"][0]["temperature"] = 500
    wet["properties"]["periods"][0]["relativeHumidity"]["value"] = 101
    odd["properties"]["periods"][0]["temperature"] = "76"
    return [nowhere, hot, wet, odd]


@pytest.mark.parametrize("reply", wrong_figures())
def test_one_wrong_figure_refuses_the_whole_reply(reply):
    with pytest.raises(WeatherUnreadable):
        hours_of_periods(reply)


def test_a_layer_in_another_unit_is_refused():
    grid = sample("grid")
    grid["properties"]["windSpeed"]["uom"] = "wmoUnit:m_s-1"

    with pytest.raises(WeatherUnreadable, match="km_h"):
        hours_of_grid(grid)


@pytest.mark.parametrize("number", [float("nan"), float("inf"), 10**400, True, -(10**7)])
def test_what_is_no_figure_is_refused(number):
    grid = sample("grid")
    grid["properties"]["windSpeed"]["values"][0]["value"] = number

    with pytest.raises(WeatherUnreadable, match="no number"):
        hours_of_grid(grid)


@pytest.mark.parametrize(("place", "is_one"), [(0, True), (999, True), (1000, False), (-1, False)])
def test_a_cell_has_small_whole_numbers_from_nought(place, is_one):
    point = sample("point")
    point["properties"]["gridX"] = place
    if is_one:
        assert cell_of_point(point).x == place
        return
    with pytest.raises(WeatherUnreadable, match="no cell"):
        cell_of_point(point)


@pytest.mark.parametrize(("hours", "is_read"), [(240, True), (241, False)])
def test_ten_days_of_hours_are_read_and_no_more(hours, is_read):
    hourly = sample("hourly")
    periods = hourly["properties"]["periods"]
    hourly["properties"]["periods"] = (periods * hours)[:hours]
    if is_read:
        assert hours_of_periods(hourly)
        return
    with pytest.raises(WeatherUnreadable, match="no list"):
        hours_of_periods(hourly)


# Beyond a share of 100 percent nothing is; the other bounds are our own choice.
@pytest.mark.parametrize(
    ("layer", "last", "beyond"),
    [
        ("temperature", 60, 60.1),  # 140 °F
        ("temperature", -62.2, -62.3),  # -80 °F are -62.22 °C
        ("relativeHumidity", 100, 100.1),
        ("relativeHumidity", 0, -0.1),
        ("windSpeed", 321.8, 322),  # 200 mph are 321.87 km/h
        ("windSpeed", 0, -1),
        ("windGust", 402.3, 402.5),  # 250 mph are 402.34 km/h
        ("windGust", 0, -1),
        ("probabilityOfPrecipitation", 100, 100.1),
        ("probabilityOfPrecipitation", 0, -0.1),
    ],
)
def test_what_the_air_never_has_is_refused(layer, last, beyond):
    grid = sample("grid")
    (told, *_) = grid["properties"][layer]["values"]

    told["value"] = last
    assert hours_of_grid(grid)
    told["value"] = beyond
    with pytest.raises(WeatherUnreadable, match="which the air never has"):
        hours_of_grid(grid)


def test_a_layer_that_is_missing_leaves_its_figure_unknown():
    grid = sample("grid")
    del grid["properties"]["windGust"]

    assert {hour.gust_mph for hour in hours_of_grid(grid)} == {None}
    assert at(hours_of_grid(grid), 17).wind_mph == Decimal("15.0")


def test_a_height_in_another_unit_is_not_known():
    elevation = {"unitCode": "wmoUnit:ft", "value": 30}

    assert elevation_of_grid({"properties": {"elevation": elevation}}) is None
    assert elevation_of_grid({"properties": {}}) is None


def test_a_share_that_is_not_told_in_percent_is_refused():
    hourly = sample("hourly")
    hourly["properties"]["periods"][0]["relativeHumidity"]["unitCode"] = "wmoUnit:one"

    with pytest.raises(WeatherUnreadable, match="in percent"):
        hours_of_periods(hourly)


def test_ten_days_of_a_grid_are_read_and_no_more():
    def lasting(duration):
        values = [{"validTime": f"2026-07-12T12:00:00+00:00/{duration}", "value": 50}]
        return {"properties": {"relativeHumidity": {"uom": "wmoUnit:percent", "values": values}}}

    assert len(hours_of_grid(lasting("P10D"))) == 240
    with pytest.raises(WeatherUnreadable, match="lasts no time"):
        hours_of_grid(lasting("P10DT1H"))


@pytest.mark.parametrize("value", [1, {"validTime": 3, "value": 1}, {"value": 1}])
def test_a_value_without_its_time_is_refused(value):
    grid = sample("grid")
    grid["properties"]["windSpeed"]["values"] = [value]

    with pytest.raises(WeatherUnreadable, match="has no time"):
        hours_of_grid(grid)


def test_a_temperature_is_that_of_the_hour_or_else_of_the_grid():
    at_noon = datetime(2026, 7, 6, 12, tzinfo=UTC)
    hourly, grid = (ForecastHour(at_noon, temperature_f=Decimal(f)) for f in (70, 80))
    unknown = ForecastHour(at_noon)

    assert both([hourly], [grid])[0].temperature_f == 70
    assert both([unknown], [grid])[0].temperature_f == 80
    assert both([unknown], [unknown])[0].temperature_f is None


@pytest.mark.parametrize("values", ["12", [{}] * 2_001])
def test_a_layer_holds_a_list_of_values_that_ends(values):
    grid = sample("grid")
    grid["properties"]["windSpeed"]["values"] = values

    with pytest.raises(WeatherUnreadable, match="no list of values"):
        hours_of_grid(grid)


@pytest.mark.parametrize("office", ["../x", "PHIL", "phi", "", 7, None])
def test_only_the_name_of_an_office_is_taken_into_an_address(office):
    point = sample("point")
    point["properties"]["gridId"] = office

    with pytest.raises(WeatherUnreadable, match="no office"):
        cell_of_point(point)


@pytest.mark.parametrize("reader", READERS)
@given(
    reply=st.recursive(
        st.none() | st.text() | st.integers(),
        lambda c: (
            st.lists(c)
            | st.dictionaries(
                st.sampled_from(
                    ["properties", "periods", "windSpeed", "values", "uom", "validTime"]
                ),
                c,
            )
        ),
    )
)
def test_no_reply_does_worse_than_being_refused(reader, reply):
    try:
        reader(reply)
    except WeatherUnreadable as refusal:
        assert str(refusal)  # noqa: PT017
