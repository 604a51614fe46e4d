"""Flow, pressure and wear of nozzles."""

from decimal import Decimal

import pytest

from treatments.rules.findings import Severity
from treatments.rules.nozzles import (
    band,
    findings_on_nozzles,
    flow_at_pressure,
    flow_gal_per_min,
    pressure_for_flow,
    water_equivalent_flow,
)
from treatments.rules.units import Unit, UnitMismatch


def test_twice_the_flow_takes_four_times_the_pressure():
    # [CORE-CH11] doubling the flow takes four times the pressure
    assert pressure_for_flow(20, 1, 2) == 80
    assert flow_at_pressure(1, 20, 80) == 2


def test_a_quarter_more_flow_takes_half_as_much_pressure_again():
    # [ISU-ICM844] 40 psi at 12 mph, 63 psi at 15 mph
    assert flow_at_pressure(12, 40, Decimal("62.5")) == pytest.approx(Decimal(15))


def test_a_heavier_liquid_wants_a_larger_nozzle():
    # 28 % nitrogen, specific gravity 1.28: factor 1.13, as an equipment manual has it, from memory
    assert round(water_equivalent_flow(1, Decimal("1.28")), 2) == Decimal("1.13")


def test_a_flow_is_caught_in_a_volume():
    # [OKSTATE-TURF] 101 fl oz in a minute is 0.79 gallons a minute
    assert round(flow_gal_per_min(101, Unit.FLUID_OUNCE, 60), 2) == Decimal("0.79")

    with pytest.raises(UnitMismatch):
        flow_gal_per_min(101, Unit.OUNCE, 60)


def test_the_band_agrees_with_the_guide():
    # [MSU-MT200014] 41.9 and 46.3 fl oz around their middle, 44.1
    low, high = band(Decimal("44.1"), 5)

    assert (round(low, 1), round(high, 1)) == (Decimal("41.9"), Decimal("46.3"))


@pytest.mark.parametrize(
    ("flow", "severities"),
    [
        ("95", []),
        ("94.9", [Severity.WARNING]),
        ("105", []),
        ("105.1", [Severity.WARNING]),
        ("110", [Severity.WARNING]),
        ("110.1", [Severity.REFUSAL]),
    ],
)
def test_a_nozzle_is_watched_at_five_and_replaced_beyond_ten_per_cent(flow, severities):
    # [UGA-SB16] within 10 % of the average; [MSU-MT200014] a band of 5 %
    findings = findings_on_nozzles([Decimal(flow)], new_flow=100)

    assert [finding.severity for finding in findings] == severities
    assert all("Nozzle 1" in finding.say() for finding in findings)


def test_a_nozzle_that_wears_says_how_far_it_is_off():
    # 110 against 100 is a tenth more
    (finding,) = findings_on_nozzles([110], new_flow=100)

    assert "flows +10.0 %" in finding.say()


def test_without_a_new_nozzle_the_mean_is_the_measure():
    (finding,) = findings_on_nozzles([100, 100, 100, 116])

    assert finding.facts["number"] == 4


def test_no_nozzle_no_finding():
    assert findings_on_nozzles([]) == []
