"""Calibration, against worksheets; most stand in the published cases."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.calibration import (
    TooFewRuns,
    boom_flow_gal_per_min,
    boom_speed_mph,
    course_ft,
    findings_on_age,
    findings_on_use,
    gallons_per_1000_sq_ft,
    gallons_per_acre,
    gallons_per_acre_by_refilling,
    gallons_per_acre_caught,
    gallons_per_acre_of_boom,
    litres_per_hectare_of_boom,
    mean_of_runs,
    output_of_timed_plot,
    seconds_over,
    speed_mph,
)
from treatments.rules.units import Basis, Unit, convert, convert_rate

OUTPUTS = st.decimals(min_value=1, max_value=300, places=1)
SPEEDS = st.decimals(min_value=1, max_value=10, places=1)
WIDTHS = st.decimals(min_value=10, max_value=500, places=0)


def test_a_quarter_of_the_area_gives_a_quarter_of_the_catch():
    # [PES-HOSE-END] 1.25 gallons in 20 seconds on 250 square feet
    assert output_of_timed_plot(Decimal("1.25"), 250) == 5


def test_a_catch_of_another_time_is_scaled():
    # [PES-SPRAY-GUN] 5.25 gallons caught in 78 seconds; half the time catches half
    output = output_of_timed_plot(Decimal("2.625"), 1_000, seconds_to_cover=78, seconds_caught=39)

    assert output == Decimal("5.25")


def test_a_course_ten_times_as_long_catches_ten_times_as_much():
    # [UGA-SB16] the ten-fold course of a 13-foot swath is 261.8 feet
    assert round(course_ft(13 * 12, multiple=10), 1) == Decimal("261.8")
    assert gallons_per_acre_caught(200, multiple=10) == 20


def test_a_square_plot_of_18_and_a_half_feet_reads_high():
    # [MESA-HANDGUN] 342.25 square feet for 340.3
    assert gallons_per_acre_caught(150, Decimal("342.25")) < 150


@pytest.mark.parametrize("readings", [[], [77], [77, 79]])
def test_fewer_than_three_runs_are_refused(readings):
    # [PES-SPRAY-GUN] averages three
    with pytest.raises(TooFewRuns, match="at least 3 runs"):
        mean_of_runs(readings)


@given(OUTPUTS, SPEEDS, WIDTHS)
def test_flow_speed_and_output_of_a_boom_agree(output, speed, width):
    flow = boom_flow_gal_per_min(output, speed, width)

    assert boom_speed_mph(flow, output, width) == pytest.approx(speed)
    assert gallons_per_acre_of_boom(flow, speed, width) == pytest.approx(output)


@given(OUTPUTS, SPEEDS)
def test_the_metric_boom_agrees_with_the_american_one(output, speed):
    # a mile is 1,609.344 m and a gallon 3.785411784 L [NIST-SP811]
    flow = boom_flow_gal_per_min(output, speed, 20)

    litres = litres_per_hectare_of_boom(
        convert(flow, Unit.GALLON, Unit.LITRE),
        speed * Decimal("1.609344"),
        convert(20, Unit.INCH, Unit.METRE),
    )

    expected = convert_rate(output, Basis.GALLONS_PER_ACRE, Basis.LITRES_PER_HECTARE)
    assert litres == pytest.approx(expected)


@given(OUTPUTS)
def test_the_two_outputs_agree(output):
    assert gallons_per_acre(gallons_per_1000_sq_ft(output)) == pytest.approx(output)


def test_refilling_an_acre_tells_its_gallons():
    assert gallons_per_acre_by_refilling(30, 4_356, 10) == 30


@given(SPEEDS)
def test_time_and_speed_agree(speed):
    assert speed_mph(200, seconds_over(200, speed)) == pytest.approx(speed)


@pytest.mark.parametrize(("used", "told"), [("94.9", 1), ("95", 0), ("105", 0), ("105.1", 1)])
def test_use_beyond_five_per_cent_asks_for_calibration(used, told):
    # [PES-SPRAY-GUN] within 5 % of the intended rate
    findings = findings_on_use(Decimal(used), 100)

    assert len(findings) == told
    assert all("against the plan" in finding.say() for finding in findings)


@pytest.mark.parametrize(("today", "told"), [(date(2027, 3, 1), 0), (date(2027, 3, 2), 1)])
def test_a_calibration_holds_for_a_year(today, told):
    # [MSU-MT200914AG] at least yearly
    findings = findings_on_age(date(2026, 3, 1), today)

    assert len(findings) == told
    assert all("ran out on 2027-03-01" in finding.say() for finding in findings)
