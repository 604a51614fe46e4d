"""Dials, jars and injectors."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.findings import Severity
from treatments.rules.hose_end import (
    DialTooCoarse,
    dial_needed,
    dial_to_set,
    findings_on_dial,
    injection_ratio,
    injector_flow_fl_oz_per_min,
    product_for_jar,
)
from treatments.rules.units import Basis, UnitMismatch

SETTINGS = [Decimal("0.5"), 1, Decimal("1.5"), 2, 3, 4]


@pytest.mark.parametrize(
    ("needed", "dial"), [("0.5", "0.5"), ("0.99", "0.5"), ("1", "1"), ("9", "4")]
)
def test_the_dial_is_set_at_or_below_what_is_needed(needed, dial):
    assert dial_to_set(Decimal(needed), SETTINGS) == Decimal(dial)


def test_a_dial_that_starts_too_high_is_refused():
    with pytest.raises(DialTooCoarse, match="mix in a tank instead"):
        dial_to_set(Decimal("0.49"), SETTINGS)


@pytest.mark.parametrize(
    ("dial", "severity", "percent"),
    [
        ("9", Severity.NOTE, "-10.0"),  # our own choice: a tenth below the rate is only noted
        ("8.9", Severity.WARNING, "-11.0"),
    ],
)
def test_a_dial_below_the_rate_says_by_how_much(dial, severity, percent):
    (finding,) = findings_on_dial(10, Decimal(dial))

    assert (finding.severity, finding.facts["percent"]) == (severity, percent)


def test_a_dial_at_the_rate_is_passed_over():
    assert findings_on_dial(Decimal("0.5"), Decimal("0.50")) == []


def test_an_output_of_the_hose_sets_the_dial_for_an_area():
    # [PES-HOSE-END] 1.25 gallons on 250 square feet is 5 gallons for 1,000
    assert dial_needed(3, Basis.FLUID_OUNCES_PER_1000_SQ_FT, 5).amount == Decimal("0.6")


def test_a_weight_has_no_dial():
    with pytest.raises(UnitMismatch):
        dial_needed(3, Basis.OUNCES_PER_1000_SQ_FT, 5)


def test_a_jar_takes_the_rate_for_its_mark():
    # common practice: 2 fl oz a gallon in a two-gallon jar
    assert product_for_jar(2, 2).amount == 4


@given(st.decimals(min_value="0.1", max_value=10, places=1))
def test_an_injector_draws_one_part_in_its_ratio(rate):
    # a gallon has 128 fl oz [UNL-MATH]
    drawn = injector_flow_fl_oz_per_min(rate, flow_gal_per_min=1)

    assert drawn * injection_ratio(rate) == pytest.approx(Decimal(128))
