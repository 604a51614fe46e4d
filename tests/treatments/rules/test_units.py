"""Units and bases, against pint and the definitions of NIST."""

from decimal import Decimal
from fractions import Fraction
from itertools import permutations

import pint
import pytest

from treatments.rules.units import (
    AmountUnusable,
    Basis,
    Measure,
    Unit,
    UnitMismatch,
    as_decimal,
    convert,
    convert_by_density,
    convert_rate,
    exact,
    positive,
)

REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
# pint's "acre" is the survey acre, 4 ppm larger, and its "fl oz" a femtolitre-ounce: neither
# name is used here.
IN_PINT = {
    Unit.MILLILITRE: "milliliter",
    Unit.LITRE: "liter",
    Unit.TEASPOON: "teaspoon",
    Unit.TABLESPOON: "tablespoon",
    Unit.FLUID_OUNCE: "fluid_ounce",
    Unit.CUP: "cup",
    Unit.PINT: "pint",
    Unit.QUART: "quart",
    Unit.GALLON: "gallon",
    Unit.CUBIC_INCH: "inch**3",
    Unit.GRAM: "gram",
    Unit.KILOGRAM: "kilogram",
    Unit.OUNCE: "ounce",
    Unit.POUND: "pound",
    Unit.SQUARE_FOOT: "foot**2",
    Unit.ACRE: "(10 * 66 * 660 * foot**2)",  # a chain by a furlong, in international feet
    Unit.SQUARE_METRE: "meter**2",
    Unit.HECTARE: "hectare",
    Unit.INCH: "inch",
    Unit.FOOT: "foot",
    Unit.METRE: "meter",
}
PAIRS = [pair for pair in permutations(Unit, 2) if pair[0].kind is pair[1].kind]


@pytest.mark.parametrize(("from_unit", "to_unit"), PAIRS)
def test_units_convert_as_pint_has_them(from_unit, to_unit):
    factor = Decimal(1) / 10 if from_unit is Unit.ACRE else Decimal(1)
    there = Decimal(10) if to_unit is Unit.ACRE else Decimal(1)
    pints_own = REGISTRY(f"{IN_PINT[from_unit]} / ({IN_PINT[to_unit]})").to("").magnitude

    ours = convert(1, from_unit, to_unit)

    assert ours == pytest.approx(Decimal(pints_own) * factor * there, rel=Decimal("1e-15"))


def test_an_acre_is_the_international_one():
    # [NIST-HB44] 43,560 square feet; the survey acre of other tables is 43,560.174 of them
    assert convert(1, Unit.ACRE, Unit.SQUARE_FOOT) == 43_560


def test_a_gallon_holds_what_the_university_lists():
    # [UNL-MATH] 4 quarts, 8 pints, 16 cups, 128 fluid ounces; 2 tablespoons or 6 teaspoons each
    amounts = [convert(1, Unit.GALLON, Unit(unit)) for unit in ("qt", "pt", "cup", "fl oz")]

    assert amounts == [4, 8, 16, 128]
    assert convert(1, Unit.FLUID_OUNCE, Unit.TABLESPOON) == 2
    assert convert(1, Unit.FLUID_OUNCE, Unit.TEASPOON) == 6


def test_a_volume_is_no_weight_without_a_density():
    with pytest.raises(UnitMismatch, match="fl oz is a volume and oz a weight: give the density"):
        convert(1, Unit.FLUID_OUNCE, Unit.OUNCE)


def test_an_area_is_no_volume():
    with pytest.raises(UnitMismatch, match="neither can be told in the other"):
        convert(1, Unit.ACRE, Unit.GALLON)


def test_a_heavy_liquid_takes_less_room():
    # by the definition of density: at 1.25 kg a litre 1 kg is 0.8 l, and 0.8 l is 1 kg
    litres = convert_by_density(1, Unit.KILOGRAM, Unit.LITRE, kilograms_per_litre=Decimal("1.25"))

    assert litres == Decimal("0.8")
    assert convert_by_density(
        litres, Unit.LITRE, Unit.KILOGRAM, kilograms_per_litre=Decimal("1.25")
    ) == Decimal(1)


def test_a_density_joins_volume_and_weight_both_ways():
    # [PES-CONVERSIONS] a gallon of water weighs 8.3453 lb
    pounds = convert_by_density(1, Unit.GALLON, Unit.POUND, kilograms_per_litre=1)
    gallons = convert_by_density(pounds, Unit.POUND, Unit.GALLON, kilograms_per_litre=1)

    assert pounds == pytest.approx(Decimal("8.3453"), abs=Decimal("0.0002"))
    assert gallons == pytest.approx(Decimal(1), abs=Decimal("1e-26"))


def test_an_unknown_unit_is_no_unit():
    with pytest.raises(ValueError, match="floz"):
        Unit("floz")


@pytest.mark.parametrize("basis", Basis)
def test_every_basis_knows_its_product_and_what_it_is_for(basis):
    assert basis.amount_unit.kind in {"volume", "weight"}
    assert basis.per.amount in {1, 100, 1000}
    assert basis.is_concentration is (basis.per.unit.kind == "volume")


@pytest.mark.parametrize(
    ("rate", "from_basis", "to_basis", "expected"),
    [
        ("1", "% v/v", "fl oz/gal", "1.28"),  # 128 fl oz to the gallon [UNL-MATH]
        ("0.25", "% v/v", "qt/100 gal", "1"),  # 4 quarts to the gallon [UNL-MATH]
        ("1", "fl oz/gal", "% v/v", "0.78125"),
        ("16", "oz/100 gal", "lb/100 gal", "1"),
        ("6", "tsp/gal", "fl oz/gal", "1"),
        ("43.56", "fl oz/acre", "fl oz/1000 ft2", "1"),  # 43,560 ft2 [NIST-HB44]
    ],
)
def test_rates_convert_within_their_family(rate, from_basis, to_basis, expected):
    assert convert_rate(Decimal(rate), Basis(from_basis), Basis(to_basis)) == Decimal(expected)


def test_a_pound_an_acre_is_a_kilogram_and_an_eighth_a_hectare():
    # from the definitions of pound and acre [NIST-SP811]: 0.45359237 / 0.40468564224
    answer = convert_rate(1, Basis.POUNDS_PER_ACRE, Basis.KILOGRAMS_PER_HECTARE)

    assert answer == pytest.approx(Decimal("0.45359237") / Decimal("0.40468564224"))


def test_a_strength_is_no_dose_without_a_calibration():
    with pytest.raises(UnitMismatch, match="calibrated output"):
        convert_rate(1, Basis.FLUID_OUNCES_PER_GALLON, Basis.FLUID_OUNCES_PER_ACRE)


def test_a_rate_by_weight_is_none_by_volume():
    with pytest.raises(UnitMismatch, match="density"):
        convert_rate(1, Basis.OUNCES_PER_GALLON, Basis.FLUID_OUNCES_PER_GALLON)


@pytest.mark.parametrize("amount", [0.1, Decimal("NaN"), Decimal("Infinity")])
def test_an_inexact_amount_is_refused(amount):
    with pytest.raises(AmountUnusable):
        exact(amount)


@pytest.mark.parametrize("amount", [0, -1, Decimal("-0.001")])
def test_nothing_is_no_measure(amount):
    with pytest.raises(AmountUnusable, match="The tank must be more than zero"):
        positive("The tank", amount)


def test_a_fraction_that_does_not_end_is_rounded_once():
    assert as_decimal(Fraction(1, 3)) == Decimal("0.3333333333333333333333333333")


@pytest.mark.parametrize(
    ("amount", "shown"),
    [("3.7500", "3.75"), ("100", "100"), ("0.005", "0"), ("27.126", "27.13"), ("1E+2", "100")],
)
def test_a_measure_is_shown_as_a_person_reads_it(amount, shown):
    assert str(Measure(Decimal(amount), Unit.FLUID_OUNCE)) == f"{shown} fl oz"
