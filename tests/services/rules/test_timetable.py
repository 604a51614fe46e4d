"""A crew's way by the clock, reckoned by hand on a straight road: a minute a degree."""

from decimal import Decimal

import pytest

from services.rules.plans import HaltKind
from services.rules.routing.ground import ground_of
from services.rules.routing.timetable import (
    REFILL,
    carries,
    timetable,
    walk,
    with_refills,
    with_room_for_lunch,
)
from services.rules.travel import Matrix

HOUR = 3600


@pytest.fixture
def rough_road(road):
    """A road on which a second takes the crew two meters."""

    def matrix(points):
        seconds = road(points).seconds
        return Matrix(seconds=seconds, metres=tuple(tuple(2 * s for s in row) for row in seconds))

    return matrix


def test_the_clock_goes_by_the_seconds_of_the_way(stop, crew, rough_road):
    roses, shift = stop(), crew()

    route = walk(shift, [roses], ground_of([roses], [shift], rough_road))

    # ten minutes there, half an hour of work, ten minutes back
    assert route.returns - route.leaves == 3_000
    assert [(each.drive_seconds, each.drive_metres) for each in route.halts] == [(600, 1_200)]


def test_who_rinses_and_who_eats_does_not_drive(stop, crew, road):
    # to the second place ten minutes, between them a rinse of five and the break of thirty
    soap = stop("soap", 10, hours=((11, 16),), mix="soap", rinse_seconds=300)
    oil = stop("oil", 20, hours=((11, 16),), mix="oil")
    shift = crew(starts=11, lunch_seconds=1_800)

    route = walk(shift, [soap, oil], ground_of([soap, oil], [shift], road), lunch_after=1)

    halts = [(each.kind, each.drive_seconds, each.drive_metres) for each in route.halts]
    assert halts == [
        (HaltKind.STOP, 600, 600),
        (HaltKind.RINSE, 0, 0),
        (HaltKind.LUNCH, 0, 0),
        (HaltKind.STOP, 600, 600),
    ]
    assert route.halts[-1].arrives == 11 * HOUR + 600 + 1_800 + 300 + 1_800 + 600


@pytest.mark.parametrize(("minutes", "is_in_time"), [(140, True), (141, False)])
def test_the_break_begins_no_later_than_at_its_last_moment(stop, crew, road, minutes, is_in_time):
    # from 11:00 ten minutes of driving: after 140 minutes of work it is 13:30
    roses = stop(hours=((11, 16),), service_seconds=60 * minutes)
    shift = crew(starts=11, lunch_seconds=1_800)

    route = walk(shift, [roses], ground_of([roses], [shift], road), lunch_after=1)

    assert (route is not None) is is_in_time


@pytest.mark.parametrize("hours", [((9, 16),), ((7, 7 + 5 / 60), (9, 16))])
def test_a_crew_leaves_so_as_not_to_wait_at_the_first_stop(stop, crew, road, hours):
    # who leaves at 7:00 is there at 7:10
    roses, shift = stop(hours=hours), crew()

    route = walk(shift, [roses], ground_of([roses], [shift], road))

    assert route.leaves == 9 * HOUR - 600
    assert route.halts[0].waits == 0


@pytest.mark.parametrize(("gallons", "holds"), [("40", True), ("40.1", False)])
def test_a_rinse_is_drawn_where_the_sprayer_was_used(stop, crew, gallons, holds):
    # by hand: 50 gallons and 10 of the rinse, then no rinse after the last
    soap = stop("soap", mix="soap", spray_gallons=Decimal(50), rinse_gallons=Decimal(10))
    oil = stop("oil", mix="oil", spray_gallons=Decimal(gallons), rinse_gallons=Decimal(20))
    shift = crew(tank_gallons=Decimal(100))

    assert carries(shift, [soap, oil]) is holds
    assert with_refills(shift, [soap, oil]) == ([soap, oil] if holds else [soap, REFILL, oil])


def test_room_for_the_break_is_made_once(stop, crew, road):
    late, usual = (crew(starts=hour, lunch_seconds=1_800) for hour in (11.5, 7))

    assert [with_room_for_lunch(each).lunch_seconds for each in (late, usual)] == [0, 0]


def test_a_route_has_its_break_where_it_brings_the_crew_home_first(stop, crew, road):
    # before leaving it would end at noon, when the work may begin ten minutes from the yard
    roses = stop(hours=((12, 16),))
    shift = crew(starts=11, lunch_seconds=1_800)

    route = timetable(shift, [roses], ground_of([roses], [shift], road))

    assert [each.kind for each in route.halts] == [HaltKind.STOP, HaltKind.LUNCH]
    assert route.returns == 12 * HOUR + 1_800 + 600
