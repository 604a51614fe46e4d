"""Active ingredient, against extension tables; most figures stand in the published cases."""

from decimal import Decimal

import pytest

from treatments.rules.strength import (
    concentrate_for_strength,
    dry_for_ingredient,
    ingredient_in_dry,
    ingredient_in_liquid,
    liquid_for_ingredient,
    ounces_for_ppm,
    ppm_of,
)
from treatments.rules.units import AmountUnusable, Measure, Unit, UnitMismatch


def test_ingredient_in_a_liquid_is_the_table_read_backwards():
    # [PNW-NODE328] 1.5 lb from a product of 4 lb to the gallon is 3 pints
    assert ingredient_in_liquid(Measure(Decimal(3), Unit.PINT), 4) == Decimal("1.5")
    assert str(liquid_for_ingredient(Decimal("1.5"), 4).to(Unit.PINT)) == "3 pt"


def test_ingredient_in_a_powder_is_its_share():
    # [APS-128] 2 lb of ingredient from an 80 % powder is 2.5 lb
    assert ingredient_in_dry(Measure(Decimal("2.5"), Unit.POUND), 80) == 2
    assert dry_for_ingredient(2, 80).amount == Decimal("2.5")


def test_a_powder_is_not_measured_by_volume():
    with pytest.raises(UnitMismatch):
        ingredient_in_dry(Measure(Decimal(1), Unit.PINT), 80)


def test_the_rule_of_75_is_met_within_a_fifth_of_a_per_cent():
    # [TAMU-PPM] an ounce of the pure ingredient in 100 gallons is 75 ppm
    assert ppm_of(1, 100, 100) == pytest.approx(Decimal(75), rel=Decimal("0.002"))
    assert ppm_of(ounces_for_ppm(250, 100, 15), 100, 15) == pytest.approx(Decimal(250))


@pytest.mark.parametrize("final", ["48", "47.9"])
def test_a_product_gives_any_strength_up_to_its_own(final):
    assert concentrate_for_strength(55, Decimal(final), 48) <= 55


def test_a_product_gives_no_strength_above_its_own():
    with pytest.raises(AmountUnusable, match=r"gives no 48\.1 %"):
        concentrate_for_strength(55, Decimal("48.1"), 48)


def test_no_product_holds_more_than_all():
    with pytest.raises(AmountUnusable, match="more than the whole"):
        dry_for_ingredient(1, 101)
