"""Steady weather, and visits with soap on Mondays."""

from datetime import date, timedelta

import pytest

from treatments.rules.degree_days import HeatDay
from treatments.rules.population import Kill, Treatment

FIRST = date(2026, 6, 1)


@pytest.fixture
def steady():
    """Return days of a steady temperature, in degrees Celsius between 10 and 33."""

    def build(mean_c=25, number=42, **known):
        heat = mean_c - 10.0
        return [
            HeatDay(FIRST + timedelta(days=n), heat, heat * (n + 1), **known) for n in range(number)
        ]

    return build


@pytest.fixture
def weekly():
    """Return weekly visits, each with the kill given."""

    def build(*kills, every=7, **how):
        return [
            Treatment(FIRST + timedelta(days=every * n), f"product {n + 1}", kill, **how)
            for n, kill in enumerate(kills)
        ]

    return build


@pytest.fixture
def soap():
    """Return a kill that leaves eggs and residue."""
    return Kill(egg=0, larva=0.9, nymph=0.9, adult=0.9)
