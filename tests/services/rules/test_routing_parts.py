"""What a plan of routes is put together from, each part by itself, on a straight road."""

from dataclasses import replace
from decimal import Decimal

import pytest

from services.rules.plans import DAY, certificate
from services.rules.routing.copies import workable_copies
from services.rules.routing.greedy import cheapest_insertion, driving, straightened
from services.rules.routing.ground import ground_of
from services.rules.routing.grouping import grouped
from services.rules.routing.model import PLENTY, Model
from services.rules.routing.reasons import why_left_out
from services.rules.routing.timetable import with_room_for_lunch


def keys(calls):
    return [call.key if call else "refill" for call in calls]


def test_a_stop_that_fills_a_shift_to_its_end_fits(stop, crew, road):
    # ten minutes there, half an hour of work and ten minutes back
    roses = stop("roses")
    fits, full = crew("Fits", ends=7 + 50 / 60), crew("Full", ends=7 + 49 / 60)
    ground = ground_of([roses], [fits, full], road)

    assert cheapest_insertion(roses, {"Fits": ()}, [fits], ground).added_seconds == 1_200
    assert cheapest_insertion(roses, {"Full": ()}, [full], ground) is None


def test_a_stretch_is_turned_round_where_that_shortens_the_drive(stop, crew, road):
    # 30, 10 and 20 minutes from the yard: 30 + 20 + 10 + 20 minutes, or 30 out and 30 back
    calls = tuple(stop(str(minute), minute) for minute in (30, 10, 20))
    shift = crew()
    ground = ground_of(calls, [shift], road)

    (turned,) = straightened({shift.key: calls}, [shift], ground).values()

    assert driving(shift, calls, ground) == 80 * 60
    assert driving(shift, turned, ground) == 60 * 60


@pytest.mark.parametrize(
    "changes",
    [
        {"needs": frozenset({certificate("3A")})},
        {"spray_gallons": Decimal(101)},
        {"windows": ((0, 3_600),)},
        {"windows": ((23 * 3_600, 24 * 3_600),)},
    ],
)
def test_no_crew_makes_a_stop_alone_without_certificate_water_or_time(stop, crew, road, changes):
    roses, shift = replace(stop("roses"), **changes), crew(tank_gallons=Decimal(100))

    assert workable_copies([roses], [shift], ground_of([roses], [shift], road)) == []


def test_stops_of_a_place_are_one_again_only_where_they_follow_one_another(stop, crew, road):
    bed, hedge = (stop(key, client="Library") for key in ("bed", "hedge"))
    lawn = stop("lawn", minute=20)
    group = grouped([bed, hedge, lawn], [crew()], ground_of([bed, lawn], [crew()], road))

    assert sorted(each.key for each in group.stops) == ["bed", "lawn"]
    assert keys(group.together({"A": (bed, hedge, lawn)})["A"]) == ["bed", "lawn"]
    assert keys(group.together({"A": (bed, lawn, hedge)})["A"]) == ["lawn"]
    assert keys(group.apart({"A": (group.by_key["bed"], lawn)})["A"]) == ["bed", "hedge", "lawn"]


def test_stops_of_a_place_take_the_water_of_each(stop, crew, road):
    # by hand, in tenths of a gallon as the plan reckons: 1.5 and 2.3 gallons
    bed = stop("bed", client="Library", spray_gallons=Decimal("1.5"))
    hedge = stop("hedge", client="Library", spray_gallons=Decimal("2.3"))

    group = grouped([bed, hedge], [crew()], ground_of([bed], [crew()], road))

    assert [each.spray_gallons for each in group.stops] == [Decimal("3.8")]


def test_tours_are_the_same_after_they_were_the_searchs(stop, crew, road):
    stops = [stop(str(minute), minute) for minute in (10, 20, 30)]
    shifts = [crew("Crew A"), crew("Crew B")]
    ground = ground_of(stops, shifts, road)
    model = Model(workable_copies(stops, shifts, ground), shifts, ground)
    tours = {"Crew A": (stops[2], stops[0]), "Crew B": (stops[1],)}

    again = model.tours_of(model.solution_of(tours))

    assert sorted(map(keys, again.values())) == [["20"], ["30", "10"]]


@pytest.mark.parametrize(
    ("starts", "then"),
    [
        (11.5, (12, 15.5)),
        (11, (12, 15.5)),
        (10.9, (10.9, 15)),
        (7, (7, 15)),
        (14, (14, 15.5)),  # after the hours of the break
    ],
)
def test_a_crew_that_comes_shortly_before_the_break_eats_first(crew, starts, then):
    # our own choice: twice the half hour of the break, from 11:30 on
    room = with_room_for_lunch(crew(starts=starts, lunch_seconds=1_800))

    assert (room.starts, room.ends) == tuple(round(hour * 3600) for hour in then)


# What the search is given; the tests look at the library's own data.


@pytest.fixture
def model(road):
    """Return a maker of what the search is given for stops and shifts."""

    def make(stops, shifts):
        ground = ground_of(stops, shifts, road)
        return Model(workable_copies(stops, shifts, ground), shifts, ground)

    return make


def test_only_what_some_crew_lacks_keeps_it_from_a_stop(model, stop, crew):
    both, one = frozenset({"ladder", "skid tank"}), frozenset({"skid tank"})
    stops = [stop("high", needs=both), stop("low", needs=one)]

    made = model(stops, [crew("Both", has=both), crew("One", has=one)])

    assert made.needs == ["ladder"]
    assert [each.capacity[1] for each in made.data.vehicle_types()] == [PLENTY, 0]
    assert [each.delivery[1] for each in made.data.clients()] == [1, 0]


def test_a_stop_may_be_left_out_and_is_made_once(model, stop, crew):
    made = model([stop(hours=((7, 8), (10, 11))), stop("hedge")], [crew()])

    assert [(each.clients, each.required) for each in made.data.groups()] == [([0, 1], False)]
    assert not any(each.required for each in made.data.clients())


def test_a_stop_counts_less_on_a_day_that_it_is_not_planned_for(model, stop, crew):
    # our own choice: a stop left out counts 90 minutes of driving, a day away 10
    hours = ((7, 16), (24 + 7, 24 + 16))
    shifts = [crew("Monday"), crew("Tuesday", starts=24 + 7, ends=24 + 15.5)]

    made = model([stop(hours=hours, planned_day=0)], shifts)

    assert [each.tw_early // DAY for each in made.data.clients()] == [0, 1]
    assert [each.prize for each in made.data.clients()] == [5_400, 4_800]


@pytest.mark.parametrize(("gallons", "refills"), [("50", False), ("50.1", True)])
def test_a_tank_that_just_holds_all_is_not_filled_again(model, stop, crew, gallons, refills):
    stops = [stop("bed", spray_gallons=Decimal(50)), stop(spray_gallons=Decimal(gallons))]

    (vehicle,) = model(stops, [crew(tank_gallons=Decimal(100))]).data.vehicle_types()

    assert bool(vehicle.reload_depots) is refills


def test_the_rinse_before_another_mix_takes_time_where_the_sprayer_was_used(model, stop, crew):
    soap = stop("soap", 10, mix="soap", rinse_seconds=600)
    oil = stop("oil", 20, mix="oil", rinse_seconds=300)
    look = stop("look", 30, rinse_seconds=900)  # nothing is sprayed

    made = model([soap, oil, look], [crew()])
    with_rinses = made.data.duration_matrix(0)
    drives = made.data.distance_matrix(0)

    # yard, soap, oil, look: the first is rinsed before the second, and the second before the first
    assert (with_rinses - drives).tolist() == [[0] * 4, [0, 0, 600, 0], [0, 300, 0, 0], [0] * 4]


# Why a stop is left out.


@pytest.fixture
def crowded(stop, crew, road):
    """Return what is said of a stop for which a shift of 110 minutes has no room.

    It holds two others of half an hour each, 10 and 20 minutes away: 40 minutes of driving.
    """

    def told(further):
        near, far = stop("near", 10), stop("far", 20, prize_seconds=further)
        new, shift = stop("new", 10), crew(ends=7 + 110 / 60)
        ground = ground_of([near, far, new], [shift], road)
        return why_left_out(new, {shift.key: (near, far)}, [shift], ground)

    return told


def test_what_would_give_way_counts_least_with_the_drive_that_it_saves(crowded):
    # the further one counts 10 minutes more and saves 20
    found = crowded(5_400 + 600)

    assert found.code == "no-room-unless-nearer"
    assert (found.facts["other"], found.facts["minutes"]) == ("far", 20)


def test_what_gives_way_at_no_further_drive_is_told_so(crowded):
    found = crowded(5_400 + 3_600)

    assert found.code == "no-room-unless"
    assert (found.facts["other"], found.facts["minutes"]) == ("near", 0)


def test_a_detour_that_is_longer_than_the_stop_is_worth_is_told_in_minutes(stop, crew, road):
    remote, shift = stop("remote", 60), crew()
    ground = ground_of([remote], [shift], road)

    found = why_left_out(remote, {shift.key: ()}, [shift], ground)

    assert found.code == "detour-too-long"
    assert (found.facts["minutes"], found.facts["worth_minutes"]) == (120, 90)
