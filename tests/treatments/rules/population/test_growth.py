"""The growth of mites left alone, against life tables that others published."""

from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from treatments.rules.degree_days import HeatDay
from treatments.rules.population import (
    MITE_HEAT,
    TWO_SPOTTED,
    CountUnusable,
    GrowthFactor,
    daily_growth,
    fit_growth,
    fit_growth_factor,
    generation_heat,
    growth_rate,
    stable_stages,
)
from treatments.rules.population.growth import eggs_per_heat, offspring
from treatments.rules.population.life_tables import (
    doubling_time,
    euler_lotka_rate,
    finite_rate,
    net_reproduction,
    rate_from_generation,
    thermal_constant,
)
from treatments.rules.population.parameters import drawn_mite


@pytest.mark.parametrize(
    ("mean_c", "rate"),
    [
        (15, 0.08),  # [AESA-2001]
        (18, 0.156),  # [CANENT-1981]; its .372 at 21 C is twice what all others imply
        (20, 0.18),  # [IJPPS-21531]
        (25, 0.29),  # [IJPPS-21531]
        (30, 0.321),  # [AESA-2001]
        (30, 0.36),  # [IJPPS-21531]
    ],
)
def test_published_rates_of_increase_lie_in_the_range_that_is_drawn(mean_c, rate):
    drawn = drawn_mite(2_000, np.random.default_rng(1)).growth_per_heat * (mean_c - 10)

    assert drawn.min() * 0.98 <= rate <= drawn.max() * 1.02


def test_what_is_drawn_fills_its_published_ranges():
    # egg to adult 120 to 155 degree-days [CANENT-1981]; a female's laying life is an assumption
    mites = drawn_mite(200_000, np.random.default_rng(1))
    heat = mites.egg_heat + mites.larva_heat + mites.nymph_heat

    ends = [heat.min(), heat.max(), mites.laying_life_heat.min(), mites.laying_life_heat.max()]

    assert ends == pytest.approx([120, 155, 90, 300], abs=0.6)


def test_a_population_of_fewer_daughters_than_mothers_shrinks():
    # [JANIMECOL-1948] by hand: half a daughter at age 1 is exp(-r) = 2
    assert euler_lotka_rate([1], [1], [0.5]) == pytest.approx(-np.log(2))


@pytest.mark.parametrize(
    "ask",
    [lambda: net_reproduction([1], [1, 2]), lambda: euler_lotka_rate([1, 2], [1], [2])],
)
def test_a_life_table_of_unlike_columns_is_none(ask):
    with pytest.raises(ValueError, match="argument"):
        ask()


def test_a_generation_at_25_degrees_takes_fifteen_days():
    # [IJPPS-21531] 14.96 days at 25 C, of a near relative
    assert generation_heat() / 15 == pytest.approx(14.96, rel=0.03)


def test_hot_weather_brings_an_egg_to_adult_in_as_little_as_five_days():
    # common practice: "as little as five days" when hot
    hottest = MITE_HEAT.upper - MITE_HEAT.lower
    mites = drawn_mite(2_000, np.random.default_rng(1))

    days = (mites.egg_heat + mites.larva_heat + mites.nymph_heat) / hottest

    assert 5 <= days.min() < 6


@pytest.mark.parametrize("mean_c", [25, 33])
def test_a_female_lays_fewer_than_three_hundred_eggs_in_two_weeks(mean_c):
    # common practice: up to about 300 in two weeks
    laid = float(eggs_per_heat(TWO_SPOTTED)) * (mean_c - 10) * 14

    assert 50 < laid < 300


def test_growth_stops_below_the_lower_and_levels_at_the_upper_threshold():
    assert daily_growth(9.9) == daily_growth(10) == 0
    assert daily_growth(33) == daily_growth(40) > daily_growth(32.9)


def test_the_rate_found_from_eggs_is_the_one_they_were_set_for():
    assert growth_rate(TWO_SPOTTED, float(eggs_per_heat(TWO_SPOTTED, 0.7))) == pytest.approx(
        0.7 * 0.016
    )


def test_at_the_rate_of_increase_an_egg_is_worth_one():
    rates = drawn_mite(50, np.random.default_rng(2))

    assert offspring(rates, rates.growth_per_heat, eggs_per_heat(rates)) == pytest.approx(1)


def test_a_slower_population_holds_fewer_eggs():
    shares = [stable_stages(growth_factor=factor).eggs for factor in (1, 0.7, 0.3)]

    assert all(faster > slower for faster, slower in pairwise(shares))


def test_two_counts_tell_the_growth_factor_back():
    # N2 / N1 = exp(0.7 * 0.016 * 150)
    factor = fit_growth_factor(2, 2 * np.exp(0.7 * 0.016 * 150), 150, counted=(200, 500))

    assert factor.likely == pytest.approx(0.7)
    assert factor.fitted


def test_the_band_of_a_growth_factor_holds_four_in_five():
    # textbook, from memory: the logarithm of a count of n strays by 1 / sqrt(n); z of 0.9 is 1.2816
    factor = fit_growth_factor(2, 5, 100, counted=(200, 500))
    reach = 1.2816 * np.sqrt(1 / 200 + 1 / 500) / (0.016 * 100)

    assert factor.high - factor.likely == pytest.approx(reach, rel=0.002)
    assert factor.likely - factor.low == pytest.approx(reach, rel=0.002)


def test_more_mites_counted_make_a_narrower_band():
    few, many = (fit_growth_factor(2, 5, 100, counted=(n, 2 * n)) for n in (20, 200))

    assert many.high - many.low < few.high - few.low


def test_growth_is_told_from_less_than_a_mite_a_leaf_and_less_than_a_degree_day():
    # ln 2 over 0.016 of a degree-day
    factor = fit_growth_factor(0.25, 0.5, 1, counted=(1, 1))

    assert factor.likely == pytest.approx(0.6931 / 0.016, rel=1e-3)
    assert fit_growth_factor(0.25, 0.5, 0.5, counted=(1, 1)).likely == pytest.approx(
        2 * factor.likely
    )


def test_a_count_that_fell_has_a_growth_below_zero():
    assert fit_growth_factor(5, 2, 100, counted=(100, 40)).likely < 0


@pytest.mark.parametrize("counts", [(0, 5, 100), (5, 0, 100), (5, 5, 0)])
def test_growth_is_told_from_counts_above_zero_and_warm_days(counts):
    with pytest.raises(CountUnusable, match="two counts above zero"):
        fit_growth_factor(*counts, counted=(10, 10))


def test_the_heat_between_two_counts_leaves_the_second_day_out():
    days = [HeatDay(date(2026, 6, n), 10.0, 10.0 * n) for n in (1, 2, 3)]

    fitted = fit_growth(days, (date(2026, 6, 1), 2, 100), (date(2026, 6, 3), 3, 150))

    assert fitted.likely == pytest.approx(np.log(1.5) / (0.016 * 20))


@pytest.mark.parametrize(
    ("parameter", "low", "high"),
    [
        ("preoviposition_heat", 4, 15),  # [EAJBS-12844]
        ("juvenile_survival", 0.4, 0.95),  # [IJPPS-21531]
        ("female_share", 0.6, 0.83),  # [IJPPS-21531]
        ("laying_life_heat", 90, 300),  # our own choice
        ("growth_per_heat", 0.014, 0.020),  # [AESA-2001] [IJPPS-21531]
    ],
)
def test_what_is_drawn_fills_the_published_range(parameter, low, high):
    drawn = getattr(drawn_mite(20_000, np.random.default_rng(1)), parameter)
    near = 0.02 * (high - low)

    assert low <= drawn.min() < low + near
    assert high - near < drawn.max() <= high


def test_a_growth_factor_lies_in_its_band():
    with pytest.raises(CountUnusable):
        GrowthFactor(0.8, 0.7, 1.0)


def test_eggs_must_be_laid():
    with pytest.raises(CountUnusable, match="lays no eggs"):
        growth_rate(TWO_SPOTTED, 0)


def test_the_exact_rate_solves_its_equation():
    ages, survival, births = [1, 2, 3], [0.9, 0.6, 0.2], [0, 3, 2]

    rate = euler_lotka_rate(ages, survival, births)

    terms = zip(ages, survival, births, strict=True)
    assert sum(lx * mx * finite_rate(-rate * x) for x, lx, mx in terms) == pytest.approx(1)


def test_fewer_daughters_than_mothers_are_a_fall():
    # the logarithm of a half over ten days is -0.0693, and of two over half a day 1.3863
    assert rate_from_generation(0.5, 10) == pytest.approx(-0.0693, abs=5e-5)
    assert rate_from_generation(2, 0.5) == pytest.approx(1.3863, abs=5e-5)


def test_stages_may_take_less_than_a_day():
    # 10 degree-days over 10 C: half a day at 30 C, a quarter at 50 C
    assert thermal_constant([30, 50], [0.5, 0.25]) == pytest.approx((10, 10))


@pytest.mark.parametrize(
    "ask",
    [
        lambda: euler_lotka_rate([1], [1], [0]),
        lambda: rate_from_generation(0, 10),
        lambda: rate_from_generation(2, 0),
        lambda: thermal_constant([20, 25], [10, 0]),
        lambda: doubling_time(0),
        lambda: thermal_constant([20, 20], [10, 10]),
    ],
)
def test_life_tables_without_life_are_refused(ask):
    with pytest.raises(CountUnusable):
        ask()
