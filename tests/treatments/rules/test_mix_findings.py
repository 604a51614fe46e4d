"""What is said of a mix beside its tanks."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.mix_findings import findings_on_output, findings_on_test_age
from treatments.rules.spray_volume import findings_on_strip


@pytest.mark.parametrize(
    ("calibrated", "codes"),
    [
        (Decimal("5.25"), []),  # within 5 % of what is meant [PES-SPRAY-GUN]
        (Decimal("5.26"), ["output-differs"]),
        (Decimal("4.74"), ["output-differs"]),
        (None, ["not-calibrated"]),
    ],
)
def test_a_sprayer_has_to_put_out_what_the_mix_is_for(calibrated, codes):
    assert [finding.code for finding in findings_on_output(calibrated, 5)] == codes


@pytest.mark.parametrize(("today", "old"), [(date(2027, 7, 6), False), (date(2027, 7, 7), True)])
def test_a_test_with_water_grows_old_in_a_year(today, old):
    assert bool(findings_on_test_age(date(2026, 7, 6), today)) is old


@pytest.mark.parametrize(
    ("strip", "whole", "short"), [(20, 80, False), (19, 80, True), (9, 9, False)]
)
def test_twenty_feet_of_hedge_or_all_of_it_are_wetted(strip, whole, short):
    assert bool(findings_on_strip(strip, whole)) is short
