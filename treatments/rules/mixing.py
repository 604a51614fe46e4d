"""How much product a batch of spray takes, for each basis that a label may use."""

from decimal import Decimal
from fractions import Fraction

from treatments.rules.findings import Refused, gettext_noop
from treatments.rules.units import (
    SQUARE_FEET_PER_ACRE,
    Basis,
    Kind,
    Measure,
    Number,
    Unit,
    UnitMismatch,
    as_decimal,
    exact,
    exact_convert,
    positive,
)

ABOVE_LABEL = gettext_noop("%(rate)s %(basis)s is above the label's %(highest)s %(basis)s.")
NEEDS_SPRAY = gettext_noop(
    "A rate in %(basis)s needs the gallons of spray, or the area and the output."
)
NEEDS_AREA = gettext_noop(
    "A rate in %(basis)s needs the area, or the spray and the sprayer's calibrated output."
)
NO_LIQUID = gettext_noop("%(basis)s does not tell a liquid added to water.")


class RateAboveLabel(Refused):
    """The rate asked for is more than the label allows."""


class CalibrationMissing(Refused):
    """A rate for an area meets a volume of spray, and no calibration joins them."""


def refuse_rate_above_label(rate: Number, maximum_rate: Number | None, basis: Basis) -> None:
    """Raise RateAboveLabel when a rate is above the label's maximum on the same basis.

    rate, maximum_rate: in the unit of the basis; None where the label gives no maximum

    >>> refuse_rate_above_label(2, 2, Basis.FLUID_OUNCES_PER_GALLON)
    """
    if maximum_rate is not None and exact(rate) > exact(maximum_rate):
        raise RateAboveLabel(
            ABOVE_LABEL, rate=str(rate), highest=str(maximum_rate), basis=str(basis)
        )


def exact_product(
    rate: Number, basis: Basis, *, gallons: Number | None, area_sq_ft: Number | None
) -> Fraction:
    """Return the product for a batch as an exact fraction, in the unit of the basis.

    rate: in the unit of the basis; gallons: finished spray; area_sq_ft: what it covers

    Raise CalibrationMissing when the basis needs the one that is not given [PES-MIXING].

    >>> exact_product(2, Basis.POUNDS_PER_100_GALLONS, gallons=300, area_sq_ft=None)
    Fraction(6, 1)
    """
    batch, unit = (
        (gallons, Unit.GALLON) if basis.is_concentration else (area_sq_ft, Unit.SQUARE_FOOT)
    )
    if batch is None:
        raise CalibrationMissing(
            NEEDS_SPRAY if basis.is_concentration else NEEDS_AREA, basis=str(basis)
        )
    measured = exact_convert(positive("The batch", batch), unit, basis.per.unit)
    return positive("The rate", rate) * measured / exact(basis.per.amount)


def product_for_batch(
    rate: Number,
    basis: Basis,
    *,
    gallons: Number | None = None,
    area_sq_ft: Number | None = None,
    output_gal_per_1000_sq_ft: Number | None = None,
) -> Measure:
    """Return the product that a batch takes, in the unit of the basis.

    rate: in the unit of the basis
    gallons: finished spray in the batch, in US gallons
    area_sq_ft: the area the batch is for, in square feet
    output_gal_per_1000_sq_ft: what the sprayer puts out, as calibrated

    Raise CalibrationMissing when these do not suffice.  Strengths go by the gallons
    [PES-MIXING], doses by the area [NJ-CORE-QUESTION].

    >>> str(product_for_batch(2, Basis.FLUID_OUNCES_PER_GALLON, gallons=2))
    '4 fl oz'
    >>> str(product_for_batch(Decimal("1.5"), Basis("fl oz/1000 ft2"), area_sq_ft=10_500))
    '15.75 fl oz'
    """
    if output_gal_per_1000_sq_ft is not None:
        output = positive("The output", output_gal_per_1000_sq_ft) / 1000
        gallons, area_sq_ft = _both(gallons, area_sq_ft, output)
    product = exact_product(rate, basis, gallons=gallons, area_sq_ft=area_sq_ft)
    return Measure(as_decimal(product), basis.amount_unit)


def _both(
    gallons: Number | None, area_sq_ft: Number | None, output: Fraction
) -> tuple[Number | None, Number | None]:
    if gallons is None and area_sq_ft is not None:
        return exact(area_sq_ft) * output, area_sq_ft
    if area_sq_ft is None and gallons is not None:
        return gallons, exact(gallons) / output
    return gallons, area_sq_ft


def product_per_gallon(rate: Number, basis: Basis, *, gallons_per_acre: Number) -> Measure:
    """Return how strong the spray must be, as product in one gallon of it.

    rate: in the unit of the basis
    gallons_per_acre: what the sprayer puts out, as calibrated

    A rate for an acre over the gallons for an acre [NCSU-BACKPACK].

    >>> str(product_per_gallon(1, Basis.QUARTS_PER_ACRE, gallons_per_acre=40).to(Unit("fl oz")))
    '0.8 fl oz'
    """
    covered = SQUARE_FEET_PER_ACRE / positive("The output", gallons_per_acre)
    product = exact_product(rate, basis, gallons=1, area_sq_ft=covered)
    return Measure(as_decimal(product), basis.amount_unit)


def rate_in_finished_spray(rate_to_water: Number, basis: Basis) -> Decimal:
    """Return the rate in finished spray that a label means by so much *to* the water.

    rate_to_water: liquid product added to the volume of the basis, in the unit of the basis

    Product and water together make the spray: 1 to 100 is 1 in 101, by arithmetic.
    Raise UnitMismatch for a dose on an area or a weight.

    >>> round(rate_in_finished_spray(1, Basis.GALLONS_PER_100_GALLONS), 4)
    Decimal('0.9901')
    """
    if not basis.is_concentration or basis.amount_unit.kind is not Kind.VOLUME:
        raise UnitMismatch(NO_LIQUID, basis=str(basis))
    added = exact_convert(rate_to_water, basis.amount_unit, basis.per.unit)
    return as_decimal(exact(rate_to_water) / (1 + added / exact(basis.per.amount)))
