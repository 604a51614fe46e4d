"""Names and factors of units, and the bases in which labels give their rates.

The list is closed: a unit that is not here cannot be typed in.  "oz" is a weight and "fl oz" a
volume, always.  One acre is 43,560 international square feet [NIST-HB44].
"""

from dataclasses import dataclass
from decimal import Context, Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cache, cached_property

from treatments.rules.findings import Marked, Refused, gettext_noop

Number = Decimal | int | Fraction

_ROUNDED_ONCE = Context(prec=28)

NO_DECIMAL = gettext_noop("Give %(amount)s as a decimal, so that it stays exact.")
NO_NUMBER = gettext_noop("%(amount)s is no amount; give a number.")
NOT_POSITIVE = gettext_noop("%(what)s must be more than zero, not %(amount)s.")
NEEDS_DENSITY = gettext_noop(
    "%(unit)s is a %(kind)s and %(other)s a %(other_kind)s: give the density from the product's "
    "label or safety data sheet."
)
OTHER_KIND = gettext_noop(
    "%(unit)s is a %(kind)s and %(other)s a %(other_kind)s: neither can be told in the other."
)
NEEDS_OUTPUT = gettext_noop(
    "%(basis)s and %(other)s are joined only by a sprayer's calibrated output."
)


class UnitMismatch(Refused):
    """An amount cannot be told in the unit asked for."""


class AmountUnusable(Refused):
    """An amount is zero, negative or no number where something must be measured."""


class Kind(StrEnum):
    """What a unit measures."""

    VOLUME = "volume"
    WEIGHT = "weight"
    AREA = "area"
    LENGTH = "length"


class Unit(StrEnum):
    """A unit that an amount may be given in."""

    MILLILITRE = "mL"
    LITRE = "L"
    TEASPOON = "tsp"
    TABLESPOON = "tbsp"
    FLUID_OUNCE = "fl oz"
    CUP = "cup"
    PINT = "pt"
    QUART = "qt"
    GALLON = "gal"
    CUBIC_INCH = "in3"
    GRAM = "g"
    KILOGRAM = "kg"
    OUNCE = "oz"
    POUND = "lb"
    SQUARE_FOOT = "ft2"
    ACRE = "acre"
    SQUARE_METRE = "m2"
    HECTARE = "ha"
    INCH = "in"
    FOOT = "ft"
    METRE = "m"

    @property
    def kind(self) -> Kind:
        """What the unit measures."""
        return _DEFINITIONS[self][0]

    @property
    def is_metric(self) -> bool:
        """Whether the unit belongs to the metric system."""
        return self in _METRIC


# A gallon is 231 cubic inches, an ounce 28.349523125 g, an acre 43,560 ft2 [NIST-HB44];
# an inch is 2.54 cm, so each factor is exact [NIST-SP811].
# A gallon is 4 qt, 8 pt, 16 cups, 128 fl oz; a fl oz is 2 tbsp or 6 tsp [UNL-MATH].
_DEFINITIONS: dict[Unit, tuple[Kind, Fraction]] = {
    unit: (kind, Fraction(factor))
    for kind, factors in {
        Kind.VOLUME: {
            Unit.MILLILITRE: "1",
            Unit.LITRE: "1000",
            Unit.TEASPOON: "4.92892159375",
            Unit.TABLESPOON: "14.78676478125",
            Unit.FLUID_OUNCE: "29.5735295625",
            Unit.CUP: "236.5882365",
            Unit.PINT: "473.176473",
            Unit.QUART: "946.352946",
            Unit.GALLON: "3785.411784",
            Unit.CUBIC_INCH: "16.387064",
        },
        Kind.WEIGHT: {
            Unit.GRAM: "1",
            Unit.KILOGRAM: "1000",
            Unit.OUNCE: "28.349523125",
            Unit.POUND: "453.59237",
        },
        Kind.AREA: {
            Unit.SQUARE_METRE: "1",
            Unit.HECTARE: "10000",
            Unit.SQUARE_FOOT: "0.09290304",
            Unit.ACRE: "4046.8564224",
        },
        Kind.LENGTH: {Unit.METRE: "1", Unit.FOOT: "0.3048", Unit.INCH: "0.0254"},
    }.items()
    for unit, factor in factors.items()
}

_METRIC = frozenset(
    {
        Unit.MILLILITRE,
        Unit.LITRE,
        Unit.GRAM,
        Unit.KILOGRAM,
        Unit.SQUARE_METRE,
        Unit.HECTARE,
        Unit.METRE,
    }
)

SQUARE_FEET_PER_ACRE = 43_560  # [NIST-HB44]


def exact(amount: Number) -> Fraction:
    """Return an amount as an exact fraction.

    amount: a decimal, whole number or fraction; a float has lost its exactness

    Raise AmountUnusable for a float or for a decimal that is no number.

    >>> exact(Decimal("0.25"))
    Fraction(1, 4)
    """
    if isinstance(amount, Fraction):
        return amount
    if isinstance(amount, float):
        raise AmountUnusable(NO_DECIMAL, amount=str(amount))
    if isinstance(amount, Decimal) and not amount.is_finite():
        raise AmountUnusable(NO_NUMBER, amount=str(amount))
    return Fraction(amount)


def positive(what: str, amount: Number) -> Fraction:
    """Return an amount as an exact fraction once it is known to be more than zero.

    what: the thing measured, for the message
    amount: its measure, in any unit

    Raise AmountUnusable when it is zero or less.

    >>> positive("The tank", Decimal(4))
    Fraction(4, 1)
    """
    fraction = exact(amount)
    if fraction <= 0:
        raise AmountUnusable(NOT_POSITIVE, what=Marked(what), amount=str(amount))
    return fraction


def as_decimal(fraction: Fraction) -> Decimal:
    """Return a fraction as a decimal, rounded once at 28 digits where it does not end.

    >>> as_decimal(Fraction(32, 5))
    Decimal('6.4')
    """
    return _ROUNDED_ONCE.divide(Decimal(fraction.numerator), Decimal(fraction.denominator))


def exact_convert(amount: Number, from_unit: Unit, to_unit: Unit) -> Fraction:
    """Return an amount in another unit of the same kind, as an exact fraction.

    amount: the measure in `from_unit`

    Raise UnitMismatch when the units measure different things.  Factors [NIST-SP811].

    >>> exact_convert(1, Unit.POUND, Unit.OUNCE)
    Fraction(16, 1)
    """
    if from_unit.kind is not to_unit.kind:
        raise _mismatch(from_unit, to_unit)
    return exact(amount) if from_unit is to_unit else exact(amount) * _factor(from_unit, to_unit)


@cache
def _factor(from_unit: Unit, to_unit: Unit) -> Fraction:
    return _DEFINITIONS[from_unit][1] / _DEFINITIONS[to_unit][1]


def _mismatch(from_unit: Unit, to_unit: Unit) -> UnitMismatch:
    is_density = {from_unit.kind, to_unit.kind} == {Kind.VOLUME, Kind.WEIGHT}
    return UnitMismatch(
        NEEDS_DENSITY if is_density else OTHER_KIND,
        unit=str(from_unit),
        kind=Marked(from_unit.kind),
        other=str(to_unit),
        other_kind=Marked(to_unit.kind),
    )


def convert(amount: Number, from_unit: Unit, to_unit: Unit) -> Decimal:
    """Return an amount in another unit of the same kind.

    amount: the measure in `from_unit`

    Raise UnitMismatch when the units measure different things.  Factors [NIST-SP811].

    >>> convert(Decimal("0.4"), Unit.PINT, Unit.FLUID_OUNCE)
    Decimal('6.4')
    """
    return as_decimal(exact_convert(amount, from_unit, to_unit))


def convert_by_density(
    amount: Number, from_unit: Unit, to_unit: Unit, *, kilograms_per_litre: Number
) -> Decimal:
    """Return a volume as a weight, or a weight as a volume.

    amount: the measure in `from_unit`
    kilograms_per_litre: the product's density, from its label or safety data sheet

    Raise UnitMismatch unless one unit is a volume and the other a weight.  A litre of water
    weighs one kilogram, a gallon 8.3453 lb [PES-CONVERSIONS].

    >>> convert_by_density(1, Unit.LITRE, Unit.GRAM, kilograms_per_litre=Decimal("1.2"))
    Decimal('1200')
    """
    density = positive("The density", kilograms_per_litre)
    if from_unit.kind is Kind.VOLUME:
        kilograms = exact_convert(amount, from_unit, Unit.LITRE) * density
        return as_decimal(exact_convert(kilograms, Unit.KILOGRAM, to_unit))
    litres = exact_convert(amount, from_unit, Unit.KILOGRAM) / density
    return as_decimal(exact_convert(litres, Unit.LITRE, to_unit))


@dataclass(frozen=True, slots=True)
class Measure:
    """An amount with its unit."""

    amount: Decimal
    unit: Unit

    def __str__(self) -> str:
        return f"{self.shown()} {self.unit}"

    def to(self, unit: Unit) -> "Measure":
        """Return the same measure in another unit of its kind.

        >>> str(Measure(Decimal(1), Unit.QUART).to(Unit.FLUID_OUNCE))
        '32 fl oz'
        """
        return Measure(convert(self.amount, self.unit, unit), unit)

    def shown(self, places: int = 2) -> str:
        """Return the amount as a person reads it, rounded to at most some places.

        >>> Measure(Decimal("3.7500"), Unit.FLUID_OUNCE).shown()
        '3.75'
        """
        text = f"{self.amount:.{places}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text


class Basis(StrEnum):
    """What a label's rate is counted on: so much product in or on so much."""

    FLUID_OUNCES_PER_GALLON = "fl oz/gal"
    TEASPOONS_PER_GALLON = "tsp/gal"
    TABLESPOONS_PER_GALLON = "tbsp/gal"
    OUNCES_PER_GALLON = "oz/gal"
    FLUID_OUNCES_PER_100_GALLONS = "fl oz/100 gal"
    PINTS_PER_100_GALLONS = "pt/100 gal"
    QUARTS_PER_100_GALLONS = "qt/100 gal"
    GALLONS_PER_100_GALLONS = "gal/100 gal"
    OUNCES_PER_100_GALLONS = "oz/100 gal"
    POUNDS_PER_100_GALLONS = "lb/100 gal"
    PERCENT_BY_VOLUME = "% v/v"
    MILLILITRES_PER_LITRE = "mL/L"
    GRAMS_PER_LITRE = "g/L"
    FLUID_OUNCES_PER_1000_SQ_FT = "fl oz/1000 ft2"
    OUNCES_PER_1000_SQ_FT = "oz/1000 ft2"
    POUNDS_PER_1000_SQ_FT = "lb/1000 ft2"
    FLUID_OUNCES_PER_ACRE = "fl oz/acre"
    PINTS_PER_ACRE = "pt/acre"
    QUARTS_PER_ACRE = "qt/acre"
    GALLONS_PER_ACRE = "gal/acre"
    OUNCES_PER_ACRE = "oz/acre"
    POUNDS_PER_ACRE = "lb/acre"
    LITRES_PER_HECTARE = "L/ha"
    KILOGRAMS_PER_HECTARE = "kg/ha"

    @cached_property
    def amount_unit(self) -> Unit:
        """The unit that the product is counted in; a per cent counts fluid ounces."""
        if self is Basis.PERCENT_BY_VOLUME:
            return Unit.FLUID_OUNCE
        return Unit(self.partition("/")[0])

    @cached_property
    def per(self) -> Measure:
        """The spray or the area that the rate is for; a per cent is for 100 fluid ounces."""
        if self is Basis.PERCENT_BY_VOLUME:
            return Measure(Decimal(100), Unit.FLUID_OUNCE)
        number, _, unit = self.partition("/")[2].rpartition(" ")
        return Measure(Decimal(number or 1), Unit(unit))

    @cached_property
    def is_concentration(self) -> bool:
        """Whether the rate fixes how strong the spray is, and not the dose on an area."""
        return self.per.unit.kind is Kind.VOLUME


def convert_rate(rate: Number, from_basis: Basis, to_basis: Basis) -> Decimal:
    """Return a rate on another basis of the same family.

    rate: the product in or on what `from_basis` counts

    Raise UnitMismatch between strength and dose, which only a calibration joins, and between
    volume and weight.  One gallon in an acre is 9.35 litres in a hectare [PES-CONVERSIONS].

    >>> convert_rate(1, Basis.FLUID_OUNCES_PER_GALLON, Basis.MILLILITRES_PER_LITRE)
    Decimal('7.8125')
    """
    if from_basis.is_concentration is not to_basis.is_concentration:
        raise UnitMismatch(NEEDS_OUTPUT, basis=str(from_basis), other=str(to_basis))
    product = exact_convert(rate, from_basis.amount_unit, to_basis.amount_unit)
    there, here = to_basis.per, from_basis.per
    times = exact_convert(there.amount, there.unit, here.unit) / exact(here.amount)
    return as_decimal(product * times)
