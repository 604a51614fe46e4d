"""Distances against geodesic tools, and drives that can be checked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.travel import (
    Matrix,
    Point,
    Roads,
    drive_seconds,
    great_circle_m,
    learned_factor,
    road_m,
    road_matrix,
)

# (from, to, geodesic on WGS 84 in m, great circle on the mean sphere in m) [GEODESIC-TOOLS]
DISTANCES = [
    ((0, 0), (1, 0), 110_574.389, 111_195.080),
    ((0, 0), (0, 1), 111_319.491, 111_195.080),
    ((40, -83), (40, -82), 85_393.409, 85_179.927),
    ((39.9612, -82.9988), (40.1033, -83.1141), 18_595.680, 18_601.950),
    ((40.6, -73.8), (51.6, -0.5), 5_551_759.400, 5_536_891.987),
    ((52, 179.9), (52, -179.9), 13_735.599, 13_691.701),
]


@pytest.mark.parametrize(("start", "end", "geodesic_m", "sphere_m"), DISTANCES)
def test_the_great_circle_agrees_with_the_geodesic_tools(start, end, geodesic_m, sphere_m):
    found = great_circle_m(Point(*start), Point(*end))

    assert found == pytest.approx(sphere_m, abs=0.0006)
    assert abs(found / geodesic_m - 1) < 0.0057


def test_the_same_point_is_no_drive():
    assert great_circle_m(Point(40, -83), Point(40, -83)) == 0
    assert drive_seconds(0) == 0


def test_short_roads_wind_more_than_long_ones():
    assert road_m(5_000) == 7_000
    assert road_m(25_000) == 32_500
    assert road_m(100_000) == 120_000


def test_a_longer_line_is_never_a_shorter_road():
    assert road_m(5_001) == 7_000
    assert road_m(25_001) == 32_500


@given(st.floats(0, 200_000), st.floats(0, 200_000))
def test_roads_and_drives_grow_with_the_line(one, other):
    shorter, longer = sorted([one, other])

    assert road_m(shorter) <= road_m(longer)
    assert drive_seconds(road_m(shorter)) <= drive_seconds(road_m(longer))


def test_a_drive_is_the_gate_and_a_slow_and_a_fast_stretch():
    # 2 min + 10 km at 40 km/h (15 min) + 13 km at 65 km/h (12 min) = 29 min
    assert drive_seconds(23_000) == 29 * 60


def test_the_shortest_drive_has_its_gate():
    # 2 min + 1 m at 40 km/h
    assert drive_seconds(1) == 121
    assert drive_seconds(0.5) == 121


def test_a_begun_second_counts():
    # 2 min + 1.001 km at 40 km/h = 120 + 90.09 s
    assert drive_seconds(1_001) == 211


def test_a_long_drive_is_fast_but_for_its_first_kilometers():
    # 2 min + 10 km at 40 km/h (15 min) + 650 km at 65 km/h (10 h)
    assert drive_seconds(660_000) == (2 + 15 + 600) * 60


def test_a_branch_sets_its_own_speeds():
    town = Roads(leg_minutes=0, slow_kmh=36, fast_kmh=72)

    # 10 km at 10 m/s, then 2 km at 20 m/s
    assert drive_seconds(12_000, town) == 1_000 + 100


def test_the_matrix_holds_whole_numbers_both_ways():
    matrix = road_matrix([Point(0, 0), Point(0.01, 0)])

    # 1,111.95 m of line, 1,556.73 m of road: 120 + 140.1 s
    assert matrix == Matrix(seconds=((0, 261), (261, 0)), metres=((0, 1557), (1557, 0)))


@pytest.mark.parametrize(
    "wrong",
    [
        {"slow_kmh": 0},
        {"leg_minutes": -1},
        {"far_circuity": 0.9},
        {"circuity": ((9, 2), (5, 1))},
        {"circuity": ((5, 2), (5, 1))},
    ],
)
def test_roads_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match=r"Speeds|circuity"):
        Roads(**wrong)


@pytest.mark.parametrize(
    "right",
    [
        {"slow_kmh": 0.5},
        {"leg_minutes": 0},
        {"slow_km": 0},
        {"slow_km": 0.5},
        {"far_circuity": 1, "circuity": ((5, 1),)},
    ],
)
def test_roads_may_be_slow_straight_and_without_a_gate(right):
    assert Roads(**right)


def test_the_poles_and_the_date_line_lie_on_the_globe():
    assert Point(90, 180).latitude == 90
    assert Point(-90, -180).longitude == -180


@pytest.mark.parametrize(("latitude", "longitude"), [(90.1, 0), (0, 180.5), (0, -181)])
def test_a_point_off_the_globe_is_refused(latitude, longitude):
    with pytest.raises(ValueError, match="90 degrees"):
        Point(latitude, longitude)


@pytest.mark.parametrize(("drives", "factor"), [(19, None), (20, 1.25)])
def test_too_few_recorded_drives_teach_nothing(drives, factor):
    assert learned_factor([(750, 600)] * drives) == factor


def test_one_odd_day_does_not_move_what_is_learned():
    # the median of nineteen shares of 1 and one of 30 is 1
    assert learned_factor([(600, 600)] * 19 + [(18_000, 600)]) == 1


@pytest.mark.parametrize(
    ("recorded", "factor"), [(299, 0.5), (300, 0.5), (306, 0.51), (1200, 2), (1300, 2)]
)
def test_what_is_learned_is_bounded(recorded, factor):
    assert learned_factor([(recorded, 600)] * 20) == factor


def test_what_is_learned_is_told_to_two_digits():
    # by hand: seven sixths are 1.1667
    assert learned_factor([(700, 600)] * 20) == 1.17


def test_a_drive_of_less_than_a_second_is_one():
    assert learned_factor([(0.5, 0.5)] * 20) == 1


def test_a_drive_of_no_time_is_no_drive():
    assert learned_factor([(0, 600), (600, 0)] * 20) is None
