"""The search for a week: every step holds, days away count, and what is promised can be kept."""

from dataclasses import replace
from itertools import islice

import pytest

from services.rules.plan_checking import check_plan, plan_cost
from services.rules.plans import DAY
from services.rules.routing import Search, plan_days, searching
from services.rules.routing.timetable import REFILL

HOUR = 3600


@pytest.fixture
def week(stop, crew):
    """Twelve stops along the road and one crew, on any of three days."""
    days = range(3)
    stops = [
        replace(
            stop(f"stop {number:02}", minute=5 * number + 5),
            windows=tuple((day * DAY + 7 * HOUR, day * DAY + 14 * HOUR) for day in days),
            service_seconds=5_400,
        )
        for number in range(12)
    ]
    return stops, [crew(f"Crew A {day}", 7 + 24 * day, 15.5 + 24 * day) for day in days]


@pytest.fixture
def two_by_two(monkeypatch):
    """Have every week searched two days at a time."""
    monkeypatch.setattr(searching, "MOST_AT_ONCE", 0)


def keys(tours):
    return {key: [call.key for call in calls if call] for key, calls in tours.items()}


def test_two_days_at_a_time_every_step_holds_and_none_costs_more(week, road, two_by_two):
    search = Search(*week, iterations=20, travel=road)
    steps = list(search.steps())

    plans = [search.plan(step.tours) for step in steps]

    assert [step.number for step in steps] == list(range(13))  # four rounds of three pairs
    assert all(check_plan(plan, *week, travel=road) == [] for plan in plans)
    costs = [step.cost_seconds for step in steps]
    assert costs == sorted(costs, reverse=True)


def test_a_shift_that_is_left_with_a_refill_alone_stays_in_the_yard(week, road, two_by_two):
    stops, shifts = week
    search = Search(stops[:1], shifts, iterations=5, travel=road)
    alone = {shift.key: (REFILL,) for shift in shifts}

    plans = [search.plan(step.tours) for step in search.steps(alone)]

    assert len(plans[-1].routes) == 1
    assert search.inserted(alone)[shifts[1].key] == ()


def test_two_days_at_a_time_cost_no_more_than_the_whole_week(week, road, two_by_two):
    in_pairs = plan_days(*week, iterations=200, travel=road)

    # Four stops fit a day; the way to the farthest of each four is 20, 40 and 60 minutes.
    least = 2 * (20 + 40 + 60) * 60
    assert in_pairs.left_out == ()
    assert in_pairs.cost_seconds == least


def test_the_same_seed_gives_the_same_steps(week, road, two_by_two):
    first, second = (
        [keys(step.tours) for step in Search(*week, iterations=20, travel=road).steps()]
        for _time in range(2)
    )

    assert first == second


def test_a_plan_may_be_kept_as_text_and_taken_up_again(week, road):
    search = Search(*week, iterations=20, travel=road)
    *_, last = search.steps()

    again = Search(*week, iterations=20, travel=road)
    taken_up = again.tours_of(search.keys_of(last.tours))

    assert again.plan(taken_up) == search.plan(last.tours)


def test_a_search_that_was_broken_off_goes_on_where_it_was(week, road, two_by_two):
    unbroken = [keys(step.tours) for step in Search(*week, iterations=20, travel=road).steps()]
    broken = Search(*week, iterations=20, travel=road)
    *_, third = islice(broken.steps(), 4)

    again = Search(*week, iterations=20, travel=road)
    rest = list(again.steps(again.tours_of(broken.keys_of(third.tours)), done=third.number))

    assert [step.number for step in rest] == list(range(3, 13))
    assert [keys(step.tours) for step in rest] == unbroken[3:]


def test_what_is_gone_since_is_left_out_of_what_was_kept(week, road):
    stops, shifts = week
    search = Search(stops[1:], shifts[1:], travel=road)

    tours = search.tours_of({"Crew A 0": ["stop 00"], "Crew A 1": ["", "stop 01", "stop 00"]})

    assert keys(tours) == {"Crew A 1": ["stop 01"], "Crew A 2": []}
    assert tours["Crew A 1"] == (REFILL, stops[1])


def test_a_stop_goes_on_its_planned_day_where_that_costs_less_than_the_days_away(stop, crew, road):
    two_days = ((7, 14), (31, 38))
    near = stop("near", minute=20, hours=two_days[1:])
    far = stop("far", minute=24, hours=two_days, planned_day=0)
    shifts = [crew("Monday"), crew("Tuesday", 31, 39.5)]

    plan = plan_days([near, far], shifts, iterations=20, travel=road)

    # By itself on Monday it takes 48 minutes; with the other on Tuesday 8, and a day away counts 10
    assert {route.shift_key for route in plan.routes} == {"Tuesday"}
    assert plan.cost_seconds == (40 + 8 + 10) * 60
    assert plan_cost(plan, [near, far], shifts, travel=road) == plan.cost_seconds


def test_a_stop_stays_on_its_planned_day_where_another_saves_less(stop, crew, road):
    two_days = ((7, 14), (31, 38))
    monday = stop("near", minute=20, hours=two_days[:1])
    tuesday = stop("far", minute=20, hours=two_days[1:])
    either = stop("either", minute=24, hours=two_days, planned_day=1)
    shifts = [crew("Monday"), crew("Tuesday", 31, 39.5)]

    plan = plan_days([monday, tuesday, either], shifts, iterations=20, travel=road)

    made = {route.shift_key: {halt.key for halt in route.stops} for route in plan.routes}
    assert made == {"Monday": {"near"}, "Tuesday": {"far", "either"}}


def test_what_is_inserted_leaves_the_rest_as_it_was(week, road):
    stops, shifts = week
    search = Search(stops, shifts, travel=road)
    before = search.tours_of({"Crew A 0": ["stop 11", "stop 00"], "Crew A 2": ["stop 05"]})

    after = keys(search.inserted(before))

    assert [key for key in after["Crew A 0"] if key in ("stop 11", "stop 00")] == [
        "stop 11",
        "stop 00",
    ]
    assert "stop 05" in after["Crew A 2"]
    assert sum(map(len, after.values())) == 12


def test_stops_of_one_client_made_apart_stay_apart_when_something_is_inserted(stop, crew, road):
    beds = [stop(key, client="Library") for key in ("bed", "hedge")]
    shifts = [crew("Crew A"), crew("Crew B")]
    search = Search(beds, shifts, travel=road)

    plan = search.plan(search.inserted(search.tours_of({"Crew A": ["bed"], "Crew B": ["hedge"]})))

    made = {route.shift_key: [halt.key for halt in route.stops] for route in plan.routes}
    assert made == {"Crew A": ["bed"], "Crew B": ["hedge"]}


def test_a_stop_for_which_there_is_no_time_any_more_is_taken_out(stop, crew, road):
    early = stop("early", hours=((7, 8),))
    late = stop("late", hours=((12, 13),))
    search = Search([early, late], [crew(starts=9)], travel=road)

    kept = search.inserted(search.tours_of({"Crew A": ["early", "late"]}))

    assert keys(kept) == {"Crew A": ["late"]}


def test_how_many_steps_there_are_is_told_from_the_first(stop, crew, road):
    # our own choice: one turn of three searches for a few stops
    steps = list(Search([stop()], [crew()], iterations=5, travel=road).steps())

    assert {step.of for step in steps} == {3}
    assert [step.number for step in steps] == list(range(len(steps)))


def test_a_search_that_came_to_its_end_may_be_taken_up_once_more(stop, crew, road):
    search = Search([stop()], [crew()], iterations=5, travel=road)
    tours = list(search.steps())[-1].tours

    again = list(search.steps(tours, done=3))

    assert len(again) > 1
    assert {step.number for step in again} == {3}
