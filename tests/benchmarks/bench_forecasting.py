"""How long a season's forecast takes: run by name, with nothing else at work.

pytest tests/benchmarks/bench_forecasting.py
"""

from datetime import date, timedelta
from time import perf_counter

import pytest

from treatments.rules.degree_days import HeatDay
from treatments.rules.population import StageCounts, Treatment, forecast, kill_of

FIRST = date(2026, 4, 15)


def season(number):
    return [HeatDay(FIRST + timedelta(days=n), 15.0, 15.0 * (n + 1)) for n in range(number)]


def seconds_for(number, draws):
    visits = [
        Treatment(FIRST + timedelta(days=30 + 7 * n), "abamectin", kill_of("abamectin"))
        for n in range(6)
    ]
    start = perf_counter()
    forecast(StageCounts(motiles=2), season(number), visits, draws=draws)
    return perf_counter() - start


def test_a_season_of_180_days_with_200_draws_takes_less_than_half_a_second(record_property):
    seconds = min(seconds_for(180, 200) for _ in range(3))

    record_property("forecast of 180 days with 200 draws", seconds / 0.5)
    assert seconds < 0.5


@pytest.mark.parametrize("times", [2, 4])
def test_the_cost_grows_in_step_with_the_days(times):
    base, longer = (min(seconds_for(n, 200) for _ in range(3)) for n in (60, 60 * times))

    assert longer / base < 1.5 * times


@pytest.mark.parametrize("times", [2, 4])
def test_the_cost_grows_no_faster_than_the_draws(times):
    base, more = (min(seconds_for(60, n) for _ in range(3)) for n in (200, 200 * times))

    assert more / base < 2 * times
