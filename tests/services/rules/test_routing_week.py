"""Two days of two crews on a straight road, against trying every way there is.

The plan is checked against an enumeration of all routes that shares nothing with the planner:
minutes instead of seconds, and rules written out for this one case.
"""

from decimal import Decimal
from itertools import permutations, product

import pytest

from services.rules.plan_checking import check_plan
from services.rules.plans import DAY, CrewShift, Stop, equipment
from services.rules.routing import plan_days
from services.rules.travel import Matrix, Point

MONDAY, TUESDAY = 0, 1
INJECTOR, RIG = equipment("injector"), equipment("high-pressure rig")
REFILL_MINUTES = 20
TANK = 400
# key: (minutes from the yard, may start from hour, to hour, days, minutes of work, needs, gallons,
# minutes of driving it counts for)
STOPS = {
    "1": (10, 7, 10, (MONDAY,), 60, set(), 50, 120),
    "2": (14, 7, 16, (MONDAY, TUESDAY), 90, {INJECTOR}, 50, 120),
    "3": (20, 18, 20, (MONDAY, TUESDAY), 45, set(), 50, 120),
    "4": (-12, 18, 20, (TUESDAY,), 45, set(), 50, 120),
    "5": (-18, 7, 10, (TUESDAY,), 60, {RIG}, 50, 120),
    "6": (30, 7, 16, (MONDAY, TUESDAY), 240, set(), 200, 20),
    "7": (5, 7, 16, (MONDAY, TUESDAY), 60, {INJECTOR, RIG}, 50, 120),
    "8": (-6, 13, 15, (MONDAY,), 60, set(), 300, 120),
}
# (crew, day): (from hour, to hour, has)
SHIFTS = {
    ("A", MONDAY): (7, 15.5, {INJECTOR}),
    ("A", TUESDAY): (7, 15.5, {INJECTOR}),
    ("B", MONDAY): (11, 20.5, {RIG}),
    ("B", TUESDAY): (11, 20.5, {RIG}),
}


def straight_road(points):
    rows = tuple(tuple(round(60 * abs(a.longitude - b.longitude)) for b in points) for a in points)
    return Matrix(seconds=rows, metres=rows)


def stops():
    return [
        Stop(
            key=key,
            point=Point(0, float(place)),
            windows=tuple((day * DAY + opens * 3600, day * DAY + closes * 3600) for day in days),
            service_seconds=work * 60,
            needs=frozenset(needs),
            spray_gallons=Decimal(gallons),
            prize_seconds=prize * 60,
        )
        for key, (place, opens, closes, days, work, needs, gallons, prize) in STOPS.items()
    ]


def shifts():
    return [
        CrewShift(
            key=f"{crew} {day}",
            yard=Point(0, 0),
            starts=day * DAY + opens * 3600,
            ends=int(day * DAY + closes * 3600),
            has=frozenset(has),
            tank_gallons=Decimal(TANK),
            refill_seconds=REFILL_MINUTES * 60,
            lunch_seconds=0,
            name=crew,
        )
        for (crew, day), (opens, closes, has) in SHIFTS.items()
    ]


def minutes_of(order, crew, day):
    """Return the minutes of driving of stops (and "refill") in order, or None if it cannot be."""
    opens, closes, has = SHIFTS[crew, day]
    clock, place, left, driven = opens * 60, 0, TANK, 0
    for key in order:
        goal, start, end, days, work, needs, gallons, _ = STOPS.get(
            key, (0, 0, 24, (day,), REFILL_MINUTES, set(), 0, 0)
        )
        driven += abs(goal - place)
        clock = max(clock + abs(goal - place), start * 60)
        left = TANK if key == "refill" else left - gallons
        if clock > end * 60 or day not in days or not needs <= has or left < 0:
            return None
        clock, place = clock + work, goal
    return driven + abs(place) if clock + abs(place) <= closes * 60 else None


def least_minutes(keys, crew, day):
    """Return the fewest minutes of driving for some stops on one shift, or None."""
    ways = [
        minutes_of(order, crew, day)
        for calls in (keys, [*keys, "refill"])
        for order in permutations(calls)
    ]
    return min((way for way in ways if way is not None), default=None)


def least_cost():
    """Return the least of driving and of stops left out over all ways to share the stops out."""
    choices = [
        [None, *(shift for shift in SHIFTS if least_minutes([key], *shift) is not None)]
        for key in STOPS
    ]
    known = {}
    costs = []
    for shares in product(*choices):
        cost = sum(STOPS[key][7] for key, share in zip(STOPS, shares, strict=True) if not share)
        for shift in SHIFTS:
            keys = tuple(key for key, share in zip(STOPS, shares, strict=True) if share == shift)
            if (keys, shift) not in known:
                known[keys, shift] = least_minutes(keys, *shift)
            cost = None if cost is None or known[keys, shift] is None else cost + known[keys, shift]
        costs.append(cost)
    return min(cost for cost in costs if cost is not None)


@pytest.fixture(scope="module")
def plan():
    return plan_days(stops(), shifts(), iterations=300, travel=straight_road)


def test_the_plan_costs_as_little_as_the_best_of_all_ways(plan):
    assert least_cost() == 364
    assert plan.cost_seconds == 364 * 60


def test_the_plan_holds(plan):
    assert check_plan(plan, stops(), shifts(), travel=straight_road) == []


def test_the_stops_left_out_say_why(plan):
    assert {left.key: left.reason.code for left in plan.left_out} == {
        "5": "window-outside-shifts",
        "6": "detour-too-long",
        "7": "no-crew-with-all",
    }


def test_a_stop_is_made_once_on_one_of_its_days(plan):
    made = sorted(halt.key for route in plan.routes for halt in route.stops)

    assert made == ["1", "2", "3", "4", "8"]
