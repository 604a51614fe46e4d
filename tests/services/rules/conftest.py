"""A straight road on which every drive can be reckoned by hand."""

from decimal import Decimal

import pytest

from services.rules.plans import CrewShift, Stop
from services.rules.travel import Matrix, Point

HOUR = 3600
YARD = Point(0, 0)


def at_minute(minute):
    return Point(0, float(minute))


def straight_road(points):
    """Return a minute of driving for each degree of longitude, and as many meters as seconds."""
    rows = tuple(tuple(round(60 * abs(a.longitude - b.longitude)) for b in points) for a in points)
    return Matrix(seconds=rows, metres=rows)


@pytest.fixture
def road():
    return straight_road


@pytest.fixture
def stop():
    """Return a maker of stops ten minutes from the yard, free all day, unless told otherwise."""

    def make(key="roses", minute=10, hours=((7, 16),), **changes):
        windows = tuple((round(opens * HOUR), round(closes * HOUR)) for opens, closes in hours)
        usual = {"service_seconds": 1_800, "windows": windows}
        return Stop(key, at_minute(minute), **usual | changes)

    return make


@pytest.fixture
def crew():
    """Return a maker of crews that work from 07:00 to 15:30 without lunch."""

    def make(key="Crew A", starts=7, ends=15.5, **changes):
        usual = {"tank_gallons": Decimal(100), "lunch_seconds": 0}
        return CrewShift(key, YARD, round(starts * HOUR), round(ends * HOUR), **usual | changes)

    return make
