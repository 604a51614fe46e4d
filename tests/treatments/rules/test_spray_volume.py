"""Spray for a job; most figures stand in the published cases."""

from decimal import Decimal

import pytest

from treatments.rules.spray_volume import (
    area_covered_sq_ft,
    gallons_per_1000_cu_ft,
    most_spray_for_canopy,
    spray_for_area,
    spray_for_hedge,
    spray_for_plants,
)
from treatments.rules.units import AmountUnusable


def test_an_allowance_is_added_only_when_asked_for():
    # [MD0173] 45,000 square feet at one gallon for 1,000 take 45 gallons
    assert spray_for_area(45_000, 1) == 45
    assert spray_for_area(45_000, 1, allowance_percent=5) == Decimal("47.25")


def test_a_tank_covers_what_the_slides_say():
    # [SLIDES-128] one gallon at 40 gallons an acre covers 1,089 square feet
    assert area_covered_sq_ft(1, 40) == 1_089


def test_a_hedge_takes_its_share_of_the_test_strip():
    # a strip of a tenth of the face took 0.4 gallon
    assert spray_for_hedge(1_800, Decimal("0.4"), 180) == 4


def test_a_canopy_holds_what_the_orchard_guide_says_at_most():
    # [PSU-TRV] 0.7 gallon for 1,000 cubic feet
    assert most_spray_for_canopy(100, 10, 5) == Decimal("3.5")


def test_an_output_is_spread_over_the_canopy_of_a_row():
    # 43,560 / 43.56 are 1,000 feet of row; 10 by 10 feet of it are 100,000 cubic feet [PSU-TRV]
    assert gallons_per_1000_cu_ft(700, 10, 10, Decimal("43.56")) == 7


def test_no_plants_no_spray():
    with pytest.raises(AmountUnusable, match="Plants"):
        spray_for_plants(1, 0)
