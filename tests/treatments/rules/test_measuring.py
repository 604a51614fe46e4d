"""What a crew can measure, and that rounding never passes the ceiling."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.findings import Severity
from treatments.rules.measuring import (
    FINE_SCALE,
    JUG,
    METRIC_CUP,
    METRIC_JUG,
    SCALE,
    SMALL_SYRINGE,
    SYRINGE,
    Portion,
    findings_on_portion,
    measure_portion,
    nearest_step,
    tools_for,
)
from treatments.rules.units import Kind, Measure, Unit, exact, exact_convert

AMOUNTS = st.fractions(min_value=Fraction(1, 1000), max_value=5000, max_denominator=10_000)
LIQUIDS = st.sampled_from([Unit.FLUID_OUNCE, Unit.MILLILITRE, Unit.PINT, Unit.GALLON])
WEIGHTS = st.sampled_from([Unit.OUNCE, Unit.POUND, Unit.GRAM, Unit.KILOGRAM])


def in_unit(portion, unit):
    return exact_convert(portion.measured.amount, portion.measured.unit, unit)


def test_three_per_cent_of_three_gallons_is_not_rounded_up_at_the_limit():
    # [FORESTRY-2007] prints 12 fl oz for 11.52, which is above a 3 % maximum
    portion = measure_portion("product", Fraction("11.52"), Unit.FLUID_OUNCE, Fraction("11.52"))

    assert Fraction("11.4") < in_unit(portion, Unit.FLUID_OUNCE) <= Fraction("11.52")


def test_tablespoons_are_not_rounded_up_at_the_limit():
    # [SLIDES-128] prints about 2 tablespoons for 1.6, a quarter above the rate
    portion = measure_portion("product", Fraction("1.6"), Unit.TABLESPOON, Fraction("1.6"))

    assert in_unit(portion, Unit.TABLESPOON) <= Fraction("1.6")


def test_below_the_limit_the_nearest_step_is_taken():
    assert nearest_step(Decimal("11.52"), 1, ceiling=12) == 12


@pytest.mark.parametrize(
    ("amount", "ceiling", "measured"),
    [("3.5", None, "3"), ("3.51", None, "4"), ("3.51", "3.99", "3"), ("4", "4", "4")],
)
def test_halves_go_down_and_the_ceiling_holds(amount, ceiling, measured):
    most = None if ceiling is None else Decimal(ceiling)

    assert nearest_step(Decimal(amount), 1, most) == Decimal(measured)


@pytest.mark.parametrize("unit", [Unit.OUNCE, Unit.POUND, Unit.GRAM])
def test_no_spoon_is_offered_for_a_weight(unit):
    # [NEVEG-244] an ounce is 2 to 6 level tablespoons, according to the product
    assert {tool.unit.kind for tool in tools_for(unit)} == {Kind.WEIGHT}


def test_a_metric_rate_is_measured_in_metric_tools():
    assert {tool.unit for tool in tools_for(Unit.MILLILITRE)} == {Unit.MILLILITRE}


def test_a_small_pack_is_weighed_on_the_fine_scale():
    # [UKREC] one pound in 100 gallons is 4.5 g in one gallon
    portion = measure_portion("powder", Fraction("0.16"), Unit.OUNCE, Fraction("0.16"))

    assert (portion.tool, portion.measured.amount) == (FINE_SCALE, Decimal("4.5"))


@given(AMOUNTS, LIQUIDS | WEIGHTS, st.fractions(min_value=1, max_value=2, max_denominator=50))
def test_a_measured_amount_never_passes_the_ceiling(amount, unit, room):
    portion = measure_portion("product", amount, unit, amount * room)

    assert in_unit(portion, unit) <= amount * room


@given(AMOUNTS, LIQUIDS | WEIGHTS)
def test_a_tool_is_filled_a_few_times_at_most(amount, unit):
    portion = measure_portion("product", amount, unit, None)

    assert portion.fillings <= 4
    assert portion.tool.holds is None or (
        portion.measured.amount <= portion.fillings * portion.tool.holds
    )


@pytest.mark.parametrize(
    ("amount", "tool", "measured"),
    [
        ("234.9", SYRINGE, 234),  # four times, within 2 %
        ("244.9", METRIC_CUP, 240),  # the syringe would be filled five times
    ],
)
def test_four_fillings_are_the_most(amount, tool, measured):
    # our own choice; at the ceiling the cup is more than 2 % short of both amounts
    most = Fraction(amount)
    portion = measure_portion("product", most, Unit.MILLILITRE, most)

    assert (portion.tool, portion.measured.amount) == (tool, measured)


@pytest.mark.parametrize(
    ("amount", "tool", "fillings"), [("96", JUG, 1), ("60", SYRINGE, 1), ("61", SYRINGE, 2)]
)
def test_a_tool_is_filled_as_often_as_it_must_be(amount, tool, fillings):
    portion = measure_portion("product", Fraction(amount), tool.unit, None, [tool])

    assert portion.fillings == fillings


@pytest.mark.parametrize("tool", [JUG, SCALE, SYRINGE])
def test_an_odd_number_of_whole_units_is_measured_as_it_is(tool):
    # jugs marked in fluid ounces, scales in grams, syringes in milliliters: common practice
    portion = measure_portion("product", Fraction(33), tool.unit, Fraction(33), [tool])

    assert portion.measured.amount == 33


@pytest.mark.parametrize(("short", "tool"), [("1.02", METRIC_JUG), ("1.0201", SMALL_SYRINGE)])
def test_the_first_tool_that_is_within_two_per_cent_is_taken(short, tool):
    # our own choice: 25 ml measured for 25 / 1.02 are 2 % too much
    amount = Fraction(25) / Fraction(short)

    portion = measure_portion("oil", amount, Unit.MILLILITRE, None, [METRIC_JUG, SMALL_SYRINGE])

    assert portion.tool is tool


@given(AMOUNTS, LIQUIDS | WEIGHTS)
def test_a_measured_amount_is_a_whole_number_of_steps(amount, unit):
    portion = measure_portion("product", amount, unit, None)

    assert exact(portion.measured.amount) % exact(portion.tool.step) == 0


def portion_off_by(per_cent):
    measured = Measure(Decimal(100) + Decimal(per_cent), Unit.GRAM)
    off = Decimal(per_cent) / 100
    return Portion("powder", Measure(Decimal(100), Unit.GRAM), measured, FINE_SCALE, off)


@pytest.mark.parametrize(
    ("per_cent", "severity"),
    [
        ("2.1", Severity.NOTE),
        ("-5", Severity.NOTE),  # trainers pass 5 % [PES-SPRAY-GUN]
        ("-5.1", Severity.WARNING),
        ("10", Severity.WARNING),
        ("10.1", Severity.REFUSAL),
        ("56.25", Severity.REFUSAL),
        ("-100", Severity.REFUSAL),
    ],
)
def test_a_measuring_error_is_told_by_its_size(per_cent, severity):
    (finding,) = findings_on_portion(portion_off_by(per_cent))

    assert finding.severity is severity
    assert "powder" in finding.say()
    assert finding.say_remedy()


def test_a_measuring_error_says_how_large_it_is():
    # 110 for 100 g is a tenth too much
    (finding,) = findings_on_portion(portion_off_by("10"))

    assert "(+10.0 %)" in finding.say()


@pytest.mark.parametrize("per_cent", ["0", "2", "-2"])
def test_a_small_measuring_error_is_passed_over(per_cent):
    assert findings_on_portion(portion_off_by(per_cent)) == []
