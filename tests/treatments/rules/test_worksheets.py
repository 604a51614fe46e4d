"""Calibration worksheets against the worked examples of extension services."""

from decimal import Decimal

import pytest

from treatments.rules.calibration import TooFewRuns
from treatments.rules.units import AmountUnusable
from treatments.rules.worksheets import (
    by_flow_and_speed,
    by_flow_and_speed_metric,
    by_ounces,
    by_refilling,
    by_timed_area,
    findings_on_runs,
    worn_nozzles,
)


@pytest.mark.parametrize(
    ("swath_inches", "course"),
    [(20, 204), (30, 136), (72, 57)],  # [LSU-OUNCE], the last [NCSU-BACKPACK]
)
def test_the_course_fits_the_width(swath_inches, course):
    output = by_ounces(swath_inches=swath_inches, seconds=[30] * 3, caught_fl_oz=[25] * 3)

    assert round(output.workings[0].amount) == course


@pytest.mark.parametrize("caught", [Decimal(40), Decimal("7.5")])  # [NCSU-BACKPACK]
def test_on_128th_of_an_acre_the_ounces_are_the_gallons(caught):
    output = by_ounces(swath_inches=72, seconds=[17] * 3, caught_fl_oz=[caught] * 3)

    assert output.gallons_per_acre == caught


def test_a_thousand_square_feet_are_timed_three_times():
    # 77, 79 and 78 seconds, 5.25 gallons: 228.7 gallons an acre [PES-SPRAY-GUN]
    output = by_timed_area(area_sq_ft=1000, seconds=[77, 79, 78], caught_gallons=[Decimal("5.25")])

    assert output.workings[0].amount == 78
    assert output.gallons_per_1000_sq_ft == Decimal("5.25")
    assert round(output.gallons_per_acre, 1) == Decimal("228.7")


def test_a_catch_of_another_length_is_scaled_to_the_run():
    output = by_timed_area(
        area_sq_ft=1000,
        seconds=[78, 78, 78],
        caught_gallons=[Decimal("2.625")],
        seconds_caught=39,
    )

    assert output.gallons_per_1000_sq_ft == Decimal("5.25")  # half the time, half of the above


def test_what_refills_the_tank_tells_the_output():
    # 12 gallons over 660 by 10 feet are 79.2 gallons an acre [FL-STUDY-213]
    output = by_refilling(used_gallons=[12, 12, 12], length_ft=660, swath_ft=10)

    assert output.gallons_per_acre == Decimal("79.2")


def test_a_boom_goes_by_flow_and_speed():
    # 0.79 gal/min at 3 mph, 18 inches apart: 86.9 gallons an acre [OKSTATE-TURF], recomputed
    output = by_flow_and_speed(
        caught_fl_oz=[Decimal("101.12")],
        seconds_caught=60,
        distance_ft=264,
        seconds=[60, 60, 60],
        spacing_inches=18,
    )

    assert abs(output.gallons_per_acre - Decimal("86.9")) < Decimal("0.009")


def test_the_flow_of_a_boom_is_that_of_all_its_nozzles():
    # 0.79 gal/min each [OKSTATE-TURF]
    output = by_flow_and_speed(
        caught_fl_oz=[Decimal("101.12")] * 4,
        seconds_caught=60,
        distance_ft=264,
        seconds=[60, 60, 60],
        spacing_inches=18,
    )

    assert output.flow_gallons_per_minute == 4 * Decimal("0.79")


def test_a_metric_boom_comes_to_the_same():
    # 240 L/ha are 25.66 gallons an acre at 9.354 [PES-CONVERSIONS]
    output = by_flow_and_speed_metric(
        caught_l=[Decimal("1.2")] * 2,
        seconds_caught=60,
        distance_m=100,
        seconds=[60, 60, 60],
        spacing_m=Decimal("0.5"),
    )

    assert abs(output.gallons_per_acre - 240 / Decimal("9.354")) < Decimal("0.01")
    assert round(output.flow_gallons_per_minute, 3) == Decimal("0.634")  # two nozzles of 1.2 L


def test_two_runs_are_too_few():
    with pytest.raises(TooFewRuns, match="at least 3"):
        by_refilling(used_gallons=[12, 12], length_ft=660, swath_ft=10)


def test_nothing_caught_is_no_flow():
    with pytest.raises(AmountUnusable):
        by_timed_area(area_sq_ft=1000, seconds=[78, 78, 78], caught_gallons=[])


@pytest.mark.parametrize(
    ("catch", "codes"),
    [
        (105, []),  # the band of [MSU-MT200014] is 5 %
        (Decimal("105.1"), ["nozzle-wearing"]),
        (110, ["nozzle-wearing"]),
        (Decimal("110.1"), ["nozzle-worn"]),  # beyond 10 % it is replaced [UGA-SB16]
        (Decimal("89.9"), ["nozzle-worn"]),
    ],
)
def test_a_nozzle_is_watched_beyond_five_and_replaced_beyond_ten_per_cent(catch, codes):
    assert [finding.code for finding in worn_nozzles([catch], 100)] == codes


def test_one_nozzle_without_a_new_one_tells_nothing():
    assert worn_nozzles([50]) == ()


@pytest.mark.parametrize(
    ("off", "differs"),
    [
        (5, False),  # [PES-SPRAY-GUN] 5 % off the mean of all
        (Decimal("5.1"), True),
        (Decimal("11.5"), True),
    ],
)
def test_runs_that_differ_by_more_than_five_per_cent_are_told(off, differs):
    said = findings_on_runs([100 - off, 100, 100 + off])

    assert bool(said) is differs


def test_two_nozzles_are_held_against_their_mean():
    # the mean of 44 and 50 is 47, and 3 of 47 are 6.4 %
    assert [each.code for each in worn_nozzles([44, 50])] == ["nozzle-wearing"] * 2


def test_the_reading_that_lies_furthest_off_is_named():
    # the mean of 100, 100 and 82 is 94; 82 lies 12.8 % off it, 100 lies 6.4 %
    (finding,) = findings_on_runs([100, 100, 82])

    assert "A reading of 82 lies -12.8 %" in finding.say()
