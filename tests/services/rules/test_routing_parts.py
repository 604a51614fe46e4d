"""What a plan of routes is put together from, each part by itself, on a straight road."""

from dataclasses import replace
from decimal import Decimal

import pytest

from services.rules.plans import certificate
from services.rules.routing.copies import workable_copies
from services.rules.routing.greedy import cheapest_insertion, driving, straightened
from services.rules.routing.ground import ground_of
from services.rules.routing.grouping import grouped
from services.rules.routing.model import Model
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
