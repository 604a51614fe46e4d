"""Product for a batch, against figures that others worked out."""

from decimal import Decimal

import pytest

from treatments.rules.mixing import (
    CalibrationMissing,
    RateAboveLabel,
    product_for_batch,
    product_per_gallon,
    rate_in_finished_spray,
    refuse_rate_above_label,
)
from treatments.rules.units import AmountUnusable, Basis, Unit, UnitMismatch


@pytest.mark.parametrize(("gallons", "ounces"), [(100, "16"), (10, "1.6"), (1, "0.16")])
def test_a_pound_in_100_gallons_agrees_with_the_kentucky_slides(gallons, ounces):
    # [UKREC] one pound in 100 gallons is 1.6 oz in 10 gallons and 0.16 oz in one
    product = product_for_batch(1, Basis.POUNDS_PER_100_GALLONS, gallons=gallons)

    assert product.to(Unit.OUNCE).amount == Decimal(ounces)


def test_an_area_rate_goes_by_the_area_the_batch_covers():
    # [PNW-NODE328] one pint an acre; 1,000 square feet of it are 16 / 43.56 fl oz
    by_area = product_for_batch(1, Basis.PINTS_PER_ACRE, area_sq_ft=43_560)
    by_output = product_for_batch(
        1, Basis.PINTS_PER_ACRE, gallons=87, output_gal_per_1000_sq_ft=Decimal("1.9972451790633609")
    )

    assert by_area.amount == 1
    assert by_output.amount == pytest.approx(Decimal(1))


def test_a_strength_goes_by_the_gallons_that_cover_an_area():
    # [MD0173] 300 ft by 150 ft at one gallon for 1,000 square feet takes 45 gallons
    product = product_for_batch(
        2, Basis.FLUID_OUNCES_PER_GALLON, area_sq_ft=300 * 150, output_gal_per_1000_sq_ft=1
    )

    assert product.amount == 2 * 45


def test_a_given_area_is_not_overruled_by_the_output():
    product = product_for_batch(
        3,
        Basis.FLUID_OUNCES_PER_1000_SQ_FT,
        gallons=20,
        area_sq_ft=2_000,
        output_gal_per_1000_sq_ft=5,
    )

    assert product.amount == 6


def test_given_gallons_are_not_overruled_by_the_output():
    # our own choice: what is told counts before what is reckoned
    product = product_for_batch(
        2,
        Basis.FLUID_OUNCES_PER_GALLON,
        gallons=20,
        area_sq_ft=2_000,
        output_gal_per_1000_sq_ft=5,
    )

    assert product.amount == 40


def test_an_output_alone_makes_no_batch():
    with pytest.raises(CalibrationMissing, match="gallons of spray"):
        product_for_batch(2, Basis.FLUID_OUNCES_PER_GALLON, output_gal_per_1000_sq_ft=5)


def test_an_area_rate_without_calibration_is_refused():
    with pytest.raises(CalibrationMissing, match="calibrated output"):
        product_for_batch(1, Basis.PINTS_PER_ACRE, gallons=4)


def test_a_strength_without_gallons_is_refused():
    with pytest.raises(CalibrationMissing, match="gallons of spray"):
        product_for_batch(1, Basis.OUNCES_PER_GALLON, area_sq_ft=1_000)


def test_product_per_gallon_agrees_with_the_worksheet():
    # [NCSU-BACKPACK] 8 fl oz an acre at 7.5 gallons an acre is 1.06 fl oz in a gallon
    product = product_per_gallon(8, Basis.FLUID_OUNCES_PER_ACRE, gallons_per_acre=Decimal("7.5"))

    assert product.amount == pytest.approx(Decimal("1.06"), abs=Decimal("0.007"))


def test_a_strength_is_the_same_in_each_gallon_whatever_the_sprayer_puts_out():
    # [UKREC] one pound in 100 gallons is 0.16 oz in one
    product = product_per_gallon(1, Basis.POUNDS_PER_100_GALLONS, gallons_per_acre=40)

    assert product.to(Unit.OUNCE).amount == Decimal("0.16")


@pytest.mark.parametrize("rate", ["2.01", "3"])
def test_a_rate_above_the_label_is_refused(rate):
    with pytest.raises(RateAboveLabel, match="above the label's 2 fl oz/gal"):
        refuse_rate_above_label(Decimal(rate), 2, Basis.FLUID_OUNCES_PER_GALLON)


@pytest.mark.parametrize(("rate", "maximum"), [("2", 2), ("1.99", 2), ("9", None)])
def test_a_rate_up_to_the_label_passes(rate, maximum):
    assert refuse_rate_above_label(Decimal(rate), maximum, Basis.OUNCES_PER_GALLON) is None


def test_no_rate_is_no_mix():
    with pytest.raises(AmountUnusable, match="The rate"):
        product_for_batch(0, Basis.OUNCES_PER_GALLON, gallons=1)


def test_added_to_water_is_less_than_in_finished_spray():
    # an ounce added to 127 makes 128 fl oz, which is a gallon [UNL-MATH]
    rate = rate_in_finished_spray(Decimal(128) / 127, Basis.FLUID_OUNCES_PER_GALLON)

    assert rate == pytest.approx(Decimal(1))


def test_a_weight_is_not_added_as_a_volume():
    with pytest.raises(UnitMismatch, match="liquid added to water"):
        rate_in_finished_spray(1, Basis.OUNCES_PER_GALLON)
