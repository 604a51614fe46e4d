"""How good the plan of a big week is, and how long it takes, on invented weeks.

Run by name: `pytest tests/benchmarks/bench_dispatching.py -s`.  The weeks are our own: five days,
a crew for forty stops, three skills of which a crew has some, stops in the morning, at dusk and in
clients' hours.  Costs are compared within one run.
"""

import random
from decimal import Decimal
from time import monotonic

import pytest

from services.rules.plan_checking import check_plan, plan_cost
from services.rules.plans import DAY, CrewShift, Stop, certificate, equipment
from services.rules.routing import Search
from services.rules.travel import Point, great_circle_m, road_matrix

HOUR = 3600
DAYS = 5
YARD = Point(40.22, -74.80)
SKILLS = [
    # need, share of the crews that have it, share of the stops that need it
    (certificate("3A"), 1 / 2, 0.15),
    (equipment("sprayer to 30 ft"), 2 / 3, 0.25),
    (equipment("injector"), 1 / 2, 0.12),
]


def week(stops, seed):
    """Return the stops and shifts of an invented week."""
    chance = random.Random(seed)
    crews = max(2, -(-stops // 40))
    return [stop(number, chance) for number in range(stops)], [
        shift(crew, day, has(crew, chance)) for crew in range(crews) for day in range(DAYS)
    ]


def has(crew, chance):
    found = {need for need, share, _ in SKILLS if chance.random() < share}
    return frozenset(found | {need for need, *_ in SKILLS if crew == 0})


def shift(crew, day, has):
    """Return a crew's day: one crew in four works into the dusk."""
    opens, closes = (11, 20.5) if crew % 4 == 1 else (7, 16.5)
    return CrewShift(
        key=f"{crew:02} {day}",
        yard=YARD,
        starts=day * DAY + round(opens * HOUR),
        ends=day * DAY + round(closes * HOUR),
        has=has,
        tank_gallons=Decimal(100),
    )


def stop(number, chance):
    first = chance.randrange(DAYS)
    length = chance.randint(1, DAYS)
    opens, closes = hours(chance)
    return Stop(
        key=f"{number:04}",
        point=Point(YARD.latitude + chance.gauss(0, 0.12), YARD.longitude + chance.gauss(0, 0.15)),
        windows=tuple(
            (day * DAY + opens * HOUR, day * DAY + closes * HOUR)
            for day in range(first, min(first + length, DAYS))
        ),
        service_seconds=chance.choice([20, 30, 45, 60]) * 60,
        needs=frozenset(need for need, _, share in SKILLS if chance.random() < share),
        spray_gallons=Decimal(chance.randint(1, 26)),
        prize_seconds=chance.choice([5_400, 10_800, 21_600]),
    )


def hours(chance):
    kind = chance.random()
    if kind < 0.20:
        return 7, 10
    if kind < 0.32:
        return 18, 20
    if kind < 0.45:
        opens = chance.randint(8, 14)
        return opens, opens + 2
    return 7, 16


def nearest_neighbour_cost(stops, shifts):
    """Return what it counts to go, shift after shift, to the nearest stop that is still in time.

    It shares nothing with the planner but the roads; lunch is taken off the shift's end.
    """
    waiting, driven = list(stops), 0
    for each in sorted(shifts, key=lambda shift: (shift.starts, shift.key)):
        clock, place, left = each.starts, each.yard, each.tank_gallons
        while found := nearest(waiting, each, clock, place, left):
            arrives, starts, nearby = found
            driven += arrives - clock
            clock, place, left = (
                starts + nearby.service_seconds,
                nearby.point,
                left - gallons(nearby),
            )
            waiting.remove(nearby)
        driven += drive(place, each.yard)
    return driven + sum(stop.prize() for stop in waiting)


def nearest(waiting, shift, clock, place, left):
    ends = shift.ends - shift.lunch_seconds
    ways = []
    for each in waiting:
        if not each.needs <= shift.has or gallons(each) > left:
            continue
        arrives = clock + drive(place, each.point)
        starts = min((max(o, arrives) for o, c in each.windows if arrives <= c), default=ends)
        if starts + each.service_seconds + drive(each.point, shift.yard) <= ends:
            ways.append((arrives, starts, each.key, each))
    return next(((a, s, each) for a, s, _, each in sorted(ways, key=lambda way: way[:3])), None)


def gallons(stop):
    return stop.spray_gallons


KNOWN = {}


def drive(start, end):
    if (start, end) not in KNOWN:
        KNOWN[start, end] = road_matrix([start, end]).seconds[0][1]
    return KNOWN[start, end]


def sought(search, seconds):
    """Return the last step of a search that is stopped after so many seconds."""
    until = monotonic() + seconds
    steps = search.steps()
    last = next(steps)
    while monotonic() < until and (step := next(steps, None)):
        last = step
    return last


@pytest.mark.parametrize(("stops", "seconds"), [(200, 20), (500, 60)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_week_is_planned_well_below_the_nearest_neighbour(stops, seconds, seed):
    to_make, shifts = week(stops, seed)
    assert great_circle_m(YARD, to_make[0].point) < 80_000
    worst = nearest_neighbour_cost(to_make, shifts)
    started = monotonic()

    search = Search(to_make, shifts)
    last = sought(search, seconds - (monotonic() - started))
    spent = monotonic() - started
    plan = search.plan(last.tours)

    assert check_plan(plan, to_make, shifts) == []
    cost = plan_cost(plan, to_make, shifts)
    assert cost <= worst * (0.65 if stops == 200 else 1), (
        f"{stops} stops, seed {seed}: {cost:,} after {spent:.0f} s and {last.number} steps, "
        f"{len(plan.left_out)} left out; nearest neighbour {worst:,}: {cost / worst:.0%}"
    )
