"""Figures of life tables: how fast a population grows, doubles, and what heat a stage takes."""

from collections.abc import Sequence
from math import exp, log

import numpy as np

from treatments.rules.population.parameters import CountUnusable

HALVINGS = 80


def net_reproduction(survival: Sequence[float], births: Sequence[float]) -> float:
    """Return the daughters of a female in her life, R0: the sum of lx times mx [JANIMECOL-1948].

    survival: part alive at each age; births: daughters born to a female of that age

    >>> net_reproduction([1, 0.5], [0, 4])
    2.0
    """
    return float(sum(lx * mx for lx, mx in zip(survival, births, strict=True)))


def euler_lotka_rate(
    ages: Sequence[float], survival: Sequence[float], births: Sequence[float]
) -> float:
    """Return the rate of increase at which sum of lx mx exp(-r x) is 1 [JANIMECOL-1948].

    ages: in the unit of time of the rate, above 0

    >>> round(euler_lotka_rate([1, 2], [1, 1], [0, 4]), 4)
    0.6931
    """
    if net_reproduction(survival, births) <= 0:
        raise CountUnusable("A life table without births has no rate of increase.")
    low, high = -10.0, 10.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        weighed = zip(ages, survival, births, strict=True)
        grows = sum(lx * mx * exp(-middle * x) for x, lx, mx in weighed) > 1
        low, high = (middle, high) if grows else (low, middle)
    return (low + high) / 2


def rate_from_generation(net: float, generation_days: float) -> float:
    """Return the rate of increase a day, ln R0 / T [CANENT-1981].

    >>> round(rate_from_generation(20.8, 44.0), 3)
    0.069
    """
    if net <= 0 or generation_days <= 0:
        raise CountUnusable("A generation has daughters and takes time.")
    return log(net) / generation_days


def finite_rate(rate: float) -> float:
    """Return how many times as many there are after a unit of time.

    >>> round(finite_rate(0.183), 3)
    1.201
    """
    return exp(rate)


def doubling_time(rate: float) -> float:
    """Return the time in which a growing population doubles.

    >>> round(doubling_time(0.272), 2)
    2.55
    """
    if rate <= 0:
        raise CountUnusable("A population that does not grow never doubles.")
    return log(2) / rate


def dominant_rate(matrix: Sequence[Sequence[float]]) -> float:
    """Return how many times a population grows in a step of its stage matrix.

    matrix: what a stage (column) adds to a stage (row) in a step

    >>> round(dominant_rate([[0, 4], [0.25, 0]]), 6)
    1.0
    """
    return float(np.abs(np.linalg.eigvals(np.array(matrix, dtype=float))).max())


def thermal_constant(
    temperatures: Sequence[float], durations: Sequence[float]
) -> tuple[float, float]:
    """Return the lower threshold and the degree-days of a stage from its durations.

    temperatures: steady, two or more that differ; durations: days at each

    The line of least squares through 1/days over temperature.

    >>> [round(figure, 6) for figure in thermal_constant([15, 20], [20, 10])]
    [10.0, 100.0]
    """
    if len(set(temperatures)) < 2 or any(days <= 0 for days in durations):
        raise CountUnusable("A thermal constant needs durations at two temperatures or more.")
    slope, intercept = np.polyfit(temperatures, 1 / np.asarray(durations, dtype=float), 1)
    return float(-intercept / slope), float(1 / slope)


def mite_days(days: Sequence[float], counts: Sequence[float]) -> float:
    """Return the mite-days between counts, each pair of days joined by a straight line.

    days: of the counts, in order; counts: mites a leaf

    >>> mite_days([0, 7, 14], [2, 10, 4])
    91.0
    """
    return float(np.trapezoid(np.asarray(counts, float), np.asarray(days, float)))
