"""Areas, against figures of extension guides; most stand in the published cases."""

from decimal import Decimal
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.geometry import (
    PI,
    Face,
    area_for_dosing_sq_ft,
    circle_sq_ft,
    composite_sq_ft,
    offsets_sq_ft,
    oval_sq_ft,
    radii_sq_ft,
    rectangle_sq_ft,
    trapezoid_sq_ft,
    treated_area_sq_ft,
    triangle_sq_ft,
)
from treatments.rules.units import AmountUnusable

LENGTHS = st.decimals(min_value="0.5", max_value=500, places=1)


def test_pi_is_that_of_the_language():
    assert float(PI) == pi


def test_a_bed_is_its_ground_and_needs_no_height():
    # [OSU-OKC-2013] 60 ft by 25 ft is 1,500 square feet
    assert treated_area_sq_ft(60, 25, 0, {Face.GROUND}) == 1_500


@pytest.mark.parametrize(
    ("faces", "square_feet"),
    [
        ({Face.TOP}, 30),
        ({Face.NEAR_SIDE}, 40),
        ({Face.NEAR_SIDE, Face.FAR_SIDE}, 80),
        ({Face.NEAR_END, Face.FAR_END}, 24),
        (set(Face) - {Face.GROUND}, 134),
    ],
)
def test_a_hedge_of_ten_by_three_by_four_feet_by_faces(faces, square_feet):
    # 10 x 3 on top, 10 x 4 a side, 3 x 4 an end
    assert treated_area_sq_ft(10, 3, 4, faces) == square_feet


@pytest.mark.parametrize(
    ("sizes", "faces"),
    [((10, 3, 4), set()), ((10, 3, 0), {Face.NEAR_SIDE}), ((10, -3, 4), {Face.NEAR_SIDE})],
)
def test_no_face_is_no_area(sizes, faces):
    with pytest.raises(AmountUnusable):
        treated_area_sq_ft(*sizes, faces)


@given(LENGTHS, LENGTHS)
def test_a_rectangle_is_two_triangles_and_a_trapezoid(length, width):
    rectangle = rectangle_sq_ft(length, width)

    assert rectangle == 2 * triangle_sq_ft(length, width)
    assert rectangle == trapezoid_sq_ft(length, length, width)


@given(LENGTHS)
def test_an_oval_of_equal_axes_and_equal_radii_make_a_circle(width):
    circle = circle_sq_ft(width)

    assert oval_sq_ft(width, width) == circle
    assert radii_sq_ft([width / 2] * 5) == circle


def test_the_mean_radius_would_understate_an_uneven_shape():
    mean = Decimal(10)

    assert radii_sq_ft([5, 15]) > circle_sq_ft(2 * mean)


def test_offsets_are_the_trapezoid_rule_between_two_points():
    # a triangle on each side of its widest line: half of 20 x 6
    assert offsets_sq_ft([3, 6, 3], 5) == 60


def test_buildings_and_paving_are_taken_off():
    assert composite_sq_ft([5_000], less=[1_200, 300]) == 3_500


def test_no_radius_is_no_shape():
    with pytest.raises(AmountUnusable, match="at least one radius"):
        radii_sq_ft([])


def test_nothing_left_is_refused():
    with pytest.raises(AmountUnusable, match="area that is left"):
        composite_sq_ft([1_000], less=[1_000])


@pytest.mark.parametrize(("area", "whole"), [("1000", 1_000), ("1000.99", 1_000), ("1001", 1_001)])
def test_an_area_for_dosing_goes_down(area, whole):
    assert area_for_dosing_sq_ft(Decimal(area)) == whole
