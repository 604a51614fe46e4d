"""Heat of days and seasons, and the days on which a sum will be reached."""

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.degree_days import (
    Cutoff,
    DayTemperature,
    HeatDay,
    HeatModel,
    Method,
    Scale,
    TemperatureUnusable,
    WeatherMissing,
    carried_on,
    day_reaching,
    days_at,
    degree_days,
    fill_missing,
    generation_days,
    hatch_day,
    heat_above,
    heat_of_days,
    next_heat,
    share_above,
    sum_heat,
)

HOURLY = Path(__file__).resolve().parents[2] / "reference" / "seattle_hourly_temperatures.csv"
SINGLES = [Method.SINGLE_SINE, Method.SINGLE_TRIANGLE]
FIRST = date(2026, 5, 1)


def row_of(*heats, forecast_from=99):
    total, days = 0.0, []
    for number, heat in enumerate(heats):
        total += heat
        days.append(HeatDay(FIRST + timedelta(days=number), heat, total, number >= forecast_from))
    return days


def day_of(number, lowest, highest, **known):
    return DayTemperature(FIRST + timedelta(days=number), lowest, highest, **known)


def temperatures_of_seattle():
    with HOURLY.open(encoding="utf-8") as text:
        rows = list(csv.DictReader(text))
    return {
        date.fromisoformat(row["date"]): [float(row[f"h{hour}"]) for hour in range(24)]
        for row in rows
    }


@pytest.mark.parametrize("base", [45, 50, 55])
@pytest.mark.parametrize("method", [*SINGLES, Method.DOUBLE_SINE, Method.DOUBLE_TRIANGLE])
def test_a_year_in_seattle_comes_near_its_hourly_heat(base, method):
    # [NOAA-SEATTLE-HOURLY] 24 temperatures a day say what lowest and highest can only estimate
    hourly = temperatures_of_seattle()
    days = [DayTemperature(d, min(h), max(h), Scale.FAHRENHEIT) for d, h in hourly.items()]
    truth = sum(min(max(t - base, 0), 70 - base) / 24 for h in hourly.values() for t in h)

    heats = heat_of_days(days, HeatModel(base, 70, method, scale=Scale.FAHRENHEIT))

    assert sum(each.heat for each in heats if not each.filled) == pytest.approx(truth, rel=0.08)


def test_the_missing_day_of_the_seattle_year_is_filled_and_marked():
    hourly = temperatures_of_seattle()
    days = [DayTemperature(d, min(h), max(h), Scale.FAHRENHEIT) for d, h in hourly.items()]

    heats = heat_of_days(days, HeatModel(50, 70, scale=Scale.FAHRENHEIT))

    assert [each.day for each in heats if each.filled] == [date(2010, 3, 14)]
    assert len(heats) == 365


@pytest.mark.parametrize("method", SINGLES)
@given(lowest=st.floats(-30, 45), range_of_day=st.floats(0, 30), lower=st.floats(0, 15))
def test_a_vertical_cutoff_never_counts_more_than_a_horizontal_one(
    method, lowest, range_of_day, lower
):
    horizontal, vertical = (
        degree_days(lowest, lowest + range_of_day, HeatModel(lower, 33, method, cutoff))
        for cutoff in (Cutoff.HORIZONTAL, Cutoff.VERTICAL)
    )

    assert -1e-9 <= vertical <= horizontal + 1e-9
    assert horizontal <= 33 - lower + 1e-9


@pytest.mark.parametrize("method", SINGLES)
@pytest.mark.parametrize(("degrees", "heat"), [(9.9, 0), (10, 0), (10.1, 0.1), (33, 23), (40, 23)])
def test_a_flat_day_counts_its_height_between_the_thresholds(method, degrees, heat):
    model = HeatModel(10, 33, method)

    assert degree_days(degrees, degrees, model) == pytest.approx(heat)


@pytest.mark.parametrize(("highest", "share"), [(10, 0), (20, 0.5), (30, 2 / 3)])
def test_the_share_of_a_day_above_a_threshold_by_triangle(highest, share):
    assert share_above(highest - 10 if highest < 20 else 0, highest, 10, SINGLES[1]) == (
        pytest.approx(share)
    )


@pytest.mark.parametrize("method", SINGLES)
def test_a_day_that_only_touches_a_threshold_lies_wholly_on_one_side_of_it(method):
    # what "above" means; in floating point (4.0 - 2.05) / 1.95 and its kin lie beyond 1
    assert heat_above(0.1, 4.0, 4.0, method) == 0
    assert share_above(0.1, 4.0, 4.0, method) == 0
    assert share_above(0.1, 0.2, 0.1, method) == 1


@pytest.mark.parametrize("unknown", [(float("nan"), 20), (10, float("nan")), (10, float("inf"))])
def test_a_day_of_which_one_end_is_not_known_is_refused(unknown):
    with pytest.raises(TemperatureUnusable, match="its lowest and its highest"):
        degree_days(*unknown, HeatModel(10))


def test_a_warm_night_after_a_cool_day_is_read_from_its_other_end():
    model = HeatModel(10, 33, Method.DOUBLE_SINE)

    assert degree_days(8, 12, model, next_minimum=14) == pytest.approx(
        (degree_days(8, 12, model) + heat_above(12, 14, 10, Method.SINGLE_SINE)) / 2
    )


def test_a_highest_below_the_lowest_is_refused():
    with pytest.raises(TemperatureUnusable, match="lies below a lowest of 20"):
        degree_days(20, 19, HeatModel(10))


def test_thresholds_stand_in_their_order():
    with pytest.raises(TemperatureUnusable, match="above the lower"):
        HeatModel(10, 10)


def test_a_simple_average_knows_no_vertical_cutoff():
    with pytest.raises(TemperatureUnusable, match="no vertical cutoff"):
        HeatModel(10, 30, Method.SIMPLE_AVERAGE, Cutoff.VERTICAL)


def test_fahrenheit_and_celsius_tell_one_heat():
    model = HeatModel(10, 33)
    fahrenheit = degree_days(53.6, 86, model.in_scale(Scale.FAHRENHEIT))

    assert fahrenheit == pytest.approx(1.8 * degree_days(12, 30, model))


def test_a_filled_day_is_forecast_when_what_follows_is():
    days = fill_missing([day_of(0, 10, 20), day_of(2, 12, 24, forecast=True)])

    assert [(each.minimum, each.maximum, each.filled, each.forecast) for each in days] == [
        (10, 20, False, False),
        (11, 22, True, True),
        (12, 24, False, True),
    ]


@pytest.mark.parametrize(("gap", "refused"), [(8, False), (9, True)])
def test_a_week_is_the_longest_gap_that_is_filled(gap, refused):
    days = [day_of(0, 10, 20), day_of(gap, 10, 20)]

    if refused:
        with pytest.raises(WeatherMissing, match="from 2026-05-02 to 2026-05-09: more than 7 days"):
            fill_missing(days)
    else:
        assert len(fill_missing(days)) == gap + 1


def test_a_day_told_twice_is_refused():
    with pytest.raises(WeatherMissing, match="told twice"):
        fill_missing([day_of(0, 10, 20), day_of(0, 11, 20)])


def test_a_sum_shows_what_is_forecast_and_what_is_filled():
    # means of 20, 20, 20 over 10 C, and of 25 from the forecast
    days = [day_of(0, 15, 25), day_of(2, 15, 25), day_of(3, 20, 30, forecast=True)]
    heats = heat_of_days(days, HeatModel(10, 33))

    found = sum_heat(heats, FIRST, FIRST + timedelta(days=3))

    assert (found.measured, found.filled, found.forecast, found.total) == (20, 10, 15, 45)


def test_no_days_have_no_heat():
    assert heat_of_days([], HeatModel(10, 33)) == ()


def test_heat_counts_from_the_day_asked_for():
    days = [day_of(number, 15, 25) for number in range(4)]

    heats = heat_of_days(days, HeatModel(10, 33), since=FIRST + timedelta(days=2))

    assert [each.total for each in heats] == [10, 20]


@pytest.mark.parametrize(("heat", "number"), [(29.9, 2), (30, 2), (30.1, 3), (40.1, None)])
def test_the_day_that_reaches_a_heat(heat, number):
    reached = day_reaching(row_of(10, 10, 10, 10), heat)

    assert (reached and reached.day) == (None if number is None else FIRST + timedelta(number))


def test_no_mark_is_ahead_when_all_are_reached():
    assert next_heat(row_of(10, 10, 10), [5, 15], today=FIRST + timedelta(days=2)) is None


def test_a_mark_that_was_reached_yesterday_is_not_ahead():
    mark = next_heat(row_of(10, 10, 10), [10, 15], today=FIRST + timedelta(days=1))

    assert mark.heat == 15


def test_a_mark_that_no_known_day_reaches_rests_on_a_forecast():
    mark = next_heat(row_of(10), [90], today=FIRST)

    assert (mark.day, mark.forecast) == (None, True)


def test_the_next_mark_says_that_it_rests_on_a_forecast():
    mark = next_heat(row_of(10, 10, 10, forecast_from=1), [25], today=FIRST)

    assert (mark.day, mark.forecast) == (FIRST + timedelta(days=2), True)


def test_the_next_mark_says_what_is_wanting_this_morning():
    mark = next_heat(row_of(10, 10, 10), [25], today=FIRST + timedelta(days=1))

    assert (mark.day, mark.still_wanting) == (FIRST + timedelta(days=2), 15)


def test_a_row_is_carried_on_by_the_means_of_its_lowest_and_of_its_highest():
    # our own choice: the mean of the last known days, here 10 and 14, 20 and 30
    *_, carried = carried_on([day_of(0, 10, 20), day_of(1, 14, 30)], FIRST + timedelta(days=2))

    assert (carried.minimum, carried.maximum, carried.forecast) == (12, 25, True)
    assert carried.day == FIRST + timedelta(days=2)


def test_a_week_makes_the_mean_by_which_a_row_is_carried_on():
    # our own choice
    known = [day_of(0, 0, 0), *(day_of(number, 10, 20) for number in range(1, 8))]

    *_, carried = carried_on(known, FIRST + timedelta(days=8))

    assert (carried.minimum, carried.maximum) == (10, 20)


def test_one_day_is_carried_on_and_none_are_not():
    row = (day_of(0, 10, 20),)

    assert [each.day for each in carried_on(row, FIRST + timedelta(days=2))] == [
        FIRST + timedelta(days=number) for number in range(3)
    ]
    assert carried_on(row, FIRST) == row
    assert carried_on([], FIRST) == ()


def test_one_hot_day_may_complete_two_short_generations():
    assert [day.day for day in generation_days(row_of(10, 50, 10), 30)] == [2, 2]


def test_generations_begin_with_the_day_since_which_heat_counts():
    days = generation_days(row_of(10, 10, 10), 20, since=FIRST + timedelta(days=1))

    assert days == (FIRST + timedelta(days=2),)


def test_a_generation_may_take_less_than_one_degree_day():
    assert len(generation_days(row_of(1), 0.5)) == 2


def test_a_generation_takes_heat():
    with pytest.raises(TemperatureUnusable):
        generation_days(row_of(10), 0)


def test_eggs_do_not_hatch_in_the_cold():
    assert hatch_day(row_of(0, 0, 0), 62, laid_on=FIRST) is None


@pytest.mark.parametrize(
    ("mean", "opens", "closes"),
    [(15, 12.4, 19.0), (20, 6.2, 9.5), (25, 4.1, 6.3), (30, 3.1, 4.8)],
)
def test_a_heat_takes_so_many_days_at_a_steady_temperature(mean, opens, closes):
    # the division itself: 62 and 95 degree-days over 10 C
    assert days_at(62, mean, 10) == pytest.approx(opens, abs=0.05)
    assert days_at(95, mean, 10) == pytest.approx(closes, abs=0.05)


def test_nothing_gathers_at_the_threshold():
    with pytest.raises(TemperatureUnusable, match="no heat gathers"):
        days_at(62, 10, 10)
