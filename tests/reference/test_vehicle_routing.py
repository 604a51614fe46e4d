"""The routes of two public instances against the best that is known of them [VRPTW-C101-R101]."""

from decimal import Decimal
from math import hypot
from pathlib import Path

import pytest

from services.rules.plan_checking import check_plan
from services.rules.plans import CrewShift, Stop
from services.rules.routing import plan_day
from services.rules.travel import Matrix, Point

INSTANCES = Path(__file__).parent / "vrptw"
ITERATIONS = 1_000
LARGEST_GAP = 0.02


def on_the_plane(points):
    """Return tenths of a unit, rounded down; a point holds hundredths of the plane's units."""
    rows = tuple(
        tuple(
            int(1000 * hypot(a.latitude - b.latitude, a.longitude - b.longitude) + 1e-6)
            for b in points
        )
        for a in points
    )
    return Matrix(seconds=rows, metres=rows)


def instance(name):
    lines = (INSTANCES / f"{name}.txt").read_text(encoding="ascii").splitlines()
    vehicles, capacity = map(int, lines[4].split())
    rows = [tuple(map(int, line.split())) for line in lines[9:] if line.strip()]
    return vehicles, capacity, rows[0], rows[1:]


def stops_and_shifts(name):
    vehicles, capacity, (_, x, y, _, opens, closes, _), customers = instance(name)
    shifts = [
        CrewShift(
            key=f"vehicle {number}",
            yard=Point(x / 100, y / 100),
            starts=10 * opens,
            ends=10 * closes,
            tank_gallons=Decimal(capacity),
            lunch_seconds=0,
            maximum_refills=0,
        )
        for number in range(vehicles)
    ]
    stops = [
        Stop(
            key=str(number),
            point=Point(x / 100, y / 100),
            windows=((10 * ready, 10 * due),),
            service_seconds=10 * service,
            spray_gallons=Decimal(demand),
            prize_seconds=1_000_000,
        )
        for number, x, y, demand, ready, due, service in customers
    ]
    return stops, shifts


def best_known(name):
    last = (INSTANCES / f"{name}.sol").read_text(encoding="ascii").split()[-1]
    return round(10 * float(last))


@pytest.mark.parametrize("name", ["C101", "R101"])
def test_routes_are_within_two_percent_of_the_best_known_of_vrptw_c101_r101(name):
    stops, shifts = stops_and_shifts(name)

    plan = plan_day(stops, shifts, iterations=ITERATIONS, travel=on_the_plane)

    assert plan.left_out == ()
    assert check_plan(plan, stops, shifts, travel=on_the_plane) == []
    assert best_known(name) <= plan.cost_seconds <= best_known(name) * (1 + LARGEST_GAP)


@pytest.mark.parametrize(("name", "distance"), [("C101", 8_273), ("R101", 16_377)])
def test_the_best_known_distances_are_those_published_in_vrptw_c101_r101(name, distance):
    assert best_known(name) == distance
