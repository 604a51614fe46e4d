"""How near our own model comes to the best known routes of public instances [VRPTW-C101-R101].

Run by name: `pytest tests/benchmarks/bench_instances.py -s`.  Each instance is sought for ten
seconds through our own model, and for as long by the engine alone, one after the other.
"""

import pyvrp
from pyvrp.stop import MaxRuntime

from services.rules.plan_checking import check_plan, plan_cost
from services.rules.routing import Search
from tests.reference.test_vehicle_routing import best_known, on_the_plane, stops_and_shifts

NAMES = ["C101", "R101", "RC101", "C201", "R201", "RC201", "C1_2_1"]
SECONDS = 10
SEED = 1
NO_LIMIT = 10**9


def by_our_model(stops, shifts):
    """Return the distance of a plan that the checker passes."""
    effort = {"seed": SEED, "iterations": NO_LIMIT, "seconds": SECONDS}
    search = Search(stops, shifts, travel=on_the_plane, **effort)
    *_, last = search.steps()
    plan = search.plan(last.tours)
    assert plan.left_out == ()
    assert check_plan(plan, stops, shifts, travel=on_the_plane) == []
    return plan_cost(plan, stops, shifts, travel=on_the_plane)


def by_the_engine(stops, shifts):
    """Return the distance that the engine finds when it is told the instance as it stands."""
    model, points = pyvrp.Model(), [shifts[0].yard, *(stop.point for stop in stops)]
    places = [model.add_location(point.longitude, point.latitude) for point in points]
    yard = model.add_depot(places[0])
    for stop, place in zip(stops, places[1:], strict=True):
        [(opens, closes)] = stop.windows
        model.add_client(
            place,
            delivery=int(stop.spray_gallons),
            service_duration=stop.service_seconds,
            tw_early=opens,
            tw_late=closes,
        )
    model.add_vehicle_type(
        len(shifts),
        capacity=int(shifts[0].tank_gallons),
        start_depot=yard,
        end_depot=yard,
        tw_early=shifts[0].starts,
        tw_late=shifts[0].ends,
    )
    for start, row in zip(places, on_the_plane(points).seconds, strict=True):
        for end, tenths in zip(places, row, strict=True):
            model.add_edge(start, end, tenths, tenths)
    result = model.solve(MaxRuntime(SECONDS), seed=SEED, display=False)
    assert result.is_feasible()
    return round(result.cost())


def gap(cost, name):
    """Return how many percent a distance lies above the best known."""
    return 100 * (cost / best_known(name) - 1)


def test_our_model_is_near_the_best_known_of_vrptw_c101_r101_and_near_the_engine(record_property):
    ours, bare = {}, {}
    for name in NAMES:
        stops, shifts = stops_and_shifts(name)
        ours[name] = gap(by_our_model(stops, shifts), name)
        bare[name] = gap(by_the_engine(stops, shifts), name)
        print(f"{name}: our model {ours[name]:.2f} %, the engine alone {bare[name]:.2f} %")  # noqa: T201

    mean = sum(ours.values()) / len(ours)
    print(f"mean: {mean:.2f} %, the engine alone {sum(bare.values()) / len(bare):.2f} %")  # noqa: T201
    record_property("public instances, mean gap", mean / 0.5)
    record_property("public instances, worst gap", max(ours.values()))
    assert mean <= 0.5
    assert max(ours.values()) <= 1
    assert max(ours[name] - bare[name] for name in NAMES) <= 0.3
