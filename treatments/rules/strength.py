"""Active ingredient: what a product holds, and how much product a strength takes."""

from decimal import Decimal
from fractions import Fraction

from treatments.rules.findings import gettext_noop
from treatments.rules.units import (
    AmountUnusable,
    Measure,
    Number,
    Unit,
    as_decimal,
    exact_convert,
    positive,
)

TOO_WEAK = gettext_noop("A product of %(held)s %% gives no %(wanted)s %%.")
MORE_THAN_WHOLE = gettext_noop("%(percent)s %% is more than the whole.")
WATER_POUNDS_PER_GALLON = Decimal("8.34")  # the figure of the texts; 8.3453 at 1 kg/L [MU-G7510]


def concentrate_for_strength(
    batch: Number, final_percent: Number, concentrate_percent: Number
) -> Decimal:
    """Return the concentrate that gives a batch its strength, in the unit of the batch.

    batch: spray by volume, or bait or dust by weight
    final_percent, concentrate_percent: active ingredient wanted, and in the product, in per cent

    By volume the densities are taken as equal [MD0173].  Raise AmountUnusable when the product
    is weaker than the batch.

    >>> concentrate_for_strength(10, 5, 80)
    Decimal('0.625')
    """
    wanted = positive("The strength", final_percent)
    held = _part_of(concentrate_percent) * 100
    if wanted > held:
        raise AmountUnusable(TOO_WEAK, held=str(concentrate_percent), wanted=str(final_percent))
    return as_decimal(positive("The batch", batch) * wanted / held)


def gallons_for_strength_by_weight(
    spray_gallons: Number, final_percent: Number, pounds_per_gallon: Number
) -> Decimal:
    """Return the liquid product for a strength by weight, in US gallons.

    spray_gallons: finished spray; final_percent: active ingredient by weight of the spray
    pounds_per_gallon: active ingredient in a gallon of product

    The spray weighs what water does [MU-G7510].

    >>> gallons_for_strength_by_weight(100, 1, 4)
    Decimal('2.085')
    """
    spray_pounds = positive("The spray", spray_gallons) * Fraction(WATER_POUNDS_PER_GALLON)
    ingredient = spray_pounds * _part_of(final_percent)
    return as_decimal(ingredient / positive("The product's strength", pounds_per_gallon))


def ounces_for_ppm(ppm: Number, spray_gallons: Number, percent_by_weight: Number) -> Decimal:
    """Return the product for so many parts in a million, in ounces by weight.

    ppm: milligrams of active ingredient in a litre of spray; spray_gallons: finished spray
    percent_by_weight: active ingredient in the product

    The exact form of the rule of 75 [TAMU-PPM].

    >>> round(ounces_for_ppm(250, 100, 15), 2)
    Decimal('22.25')
    """
    litres = exact_convert(positive("The spray", spray_gallons), Unit.GALLON, Unit.LITRE)
    grams = positive("The strength", ppm) * litres / 1000 / _part_of(percent_by_weight)
    return as_decimal(exact_convert(grams, Unit.GRAM, Unit.OUNCE))


def ppm_of(product_ounces: Number, spray_gallons: Number, percent_by_weight: Number) -> Decimal:
    """Return the parts in a million that so much product gives, as milligrams in a litre.

    product_ounces: by weight; spray_gallons: finished spray; percent_by_weight: of the product

    [TAMU-PPM]

    >>> round(ppm_of(1, 100, 15), 2)
    Decimal('11.23')
    """
    grams = exact_convert(positive("The product", product_ounces), Unit.OUNCE, Unit.GRAM)
    litres = exact_convert(positive("The spray", spray_gallons), Unit.GALLON, Unit.LITRE)
    return as_decimal(grams * _part_of(percent_by_weight) * 1000 / litres)


def pounds_per_gallon_of(percent_by_weight: Number, product_pounds_per_gallon: Number) -> Decimal:
    """Return the active ingredient in a gallon of product, in pounds.

    percent_by_weight: of the product; product_pounds_per_gallon: what a gallon of it weighs

    [MD0173]

    >>> pounds_per_gallon_of(6, Decimal("8.34"))
    Decimal('0.5004')
    """
    weight = positive("The product's weight", product_pounds_per_gallon)
    return as_decimal(weight * _part_of(percent_by_weight))


def liquid_for_ingredient(ingredient_pounds: Number, pounds_per_gallon: Number) -> Measure:
    """Return the liquid product that holds so much active ingredient, in US gallons.

    ingredient_pounds: for an acre or for 100 gallons; the product is then for the same
    pounds_per_gallon: active ingredient in a gallon of product

    [PNW-NODE328]

    >>> str(liquid_for_ingredient(Decimal("1.5"), 4).to(Unit.PINT))
    '3 pt'
    """
    gallons = positive("The ingredient", ingredient_pounds)
    gallons /= positive("The product's strength", pounds_per_gallon)
    return Measure(as_decimal(gallons), Unit.GALLON)


def dry_for_ingredient(ingredient_pounds: Number, percent_by_weight: Number) -> Measure:
    """Return the dry product that holds so much active ingredient, in pounds.

    ingredient_pounds: for an acre or for 100 gallons; the product is then for the same
    percent_by_weight: active ingredient in the product

    [PNW-NODE328]

    >>> str(dry_for_ingredient(2, 80))
    '2.5 lb'
    """
    pounds = positive("The ingredient", ingredient_pounds) / _part_of(percent_by_weight)
    return Measure(as_decimal(pounds), Unit.POUND)


def ingredient_in_liquid(product: Measure, pounds_per_gallon: Number) -> Decimal:
    """Return the active ingredient in so much liquid product, in pounds.

    product: a volume; pounds_per_gallon: active ingredient in a gallon of product

    Raise UnitMismatch for a weight.  The reverse of `liquid_for_ingredient` [PNW-NODE328].

    >>> ingredient_in_liquid(Measure(Decimal(3), Unit.PINT), 4)
    Decimal('1.5')
    """
    gallons = exact_convert(product.amount, product.unit, Unit.GALLON)
    return as_decimal(gallons * positive("The product's strength", pounds_per_gallon))


def ingredient_in_dry(product: Measure, percent_by_weight: Number) -> Decimal:
    """Return the active ingredient in so much dry product, in pounds.

    product: a weight; percent_by_weight: active ingredient in the product

    Raise UnitMismatch for a volume.  The reverse of `dry_for_ingredient` [PNW-NODE328].

    >>> ingredient_in_dry(Measure(Decimal("2.5"), Unit.POUND), 80)
    Decimal('2')
    """
    pounds = exact_convert(product.amount, product.unit, Unit.POUND)
    return as_decimal(pounds * _part_of(percent_by_weight))


def _part_of(percent: Number) -> Fraction:
    part = positive("The per cent", percent) / 100
    if part > 1:
        raise AmountUnusable(MORE_THAN_WHOLE, percent=str(percent))
    return part
