"""Sprayers at the end of a hose, and injectors, that meter the concentrate themselves.

The flow depends on the tap: calibrate at the client's own, behind a device against back-siphonage.
"""

from collections.abc import Iterable
from decimal import Decimal

from treatments.rules.findings import Finding, Refused, Severity, gettext_noop
from treatments.rules.mixing import product_for_batch
from treatments.rules.units import Basis, Measure, Number, Unit, as_decimal, exact, positive

WIDEST_STEP_PERCENT = 10  # below the rate by a dial; this project's choice
STARTS_ABOVE = gettext_noop("The dial starts above %(needed)s fl oz/gal; mix in a tank instead.")


class DialTooCoarse(Refused):
    """No setting of the dial stays within the rate."""


def dial_needed(
    rate: Number, basis: Basis, output_gal_per_1000_sq_ft: Number | None = None
) -> Measure:
    """Return the dial setting a rate needs, as fluid ounces of concentrate in a gallon.

    rate: in the unit of the basis, a liquid
    output_gal_per_1000_sq_ft: of water, as calibrated; a strength needs none

    The rate over the output [PES-HOSE-END].  Raise UnitMismatch for a product that is weighed,
    CalibrationMissing for a dose on an area without an output.

    >>> str(dial_needed(3, Basis.FLUID_OUNCES_PER_1000_SQ_FT, 5))
    '0.6 fl oz'
    """
    product = product_for_batch(
        rate, basis, gallons=1, output_gal_per_1000_sq_ft=output_gal_per_1000_sq_ft
    )
    return product.to(Unit.FLUID_OUNCE)


def dial_to_set(needed_fl_oz_per_gal: Number, settings_fl_oz_per_gal: Iterable[Number]) -> Decimal:
    """Return the highest setting of a dial that is not above the one needed.

    needed_fl_oz_per_gal, settings_fl_oz_per_gal: fluid ounces in a gallon

    Raise DialTooCoarse when the lowest setting is above it.  Down, so that the label's limit
    holds: common practice.

    >>> dial_to_set(Decimal("0.6"), [Decimal("0.5"), 1, 2])
    Decimal('0.5')
    """
    needed = positive("The dial setting", needed_fl_oz_per_gal)
    fitting = [exact(setting) for setting in settings_fl_oz_per_gal if exact(setting) <= needed]
    if not fitting:
        raise DialTooCoarse(STARTS_ABOVE, needed=str(needed_fl_oz_per_gal))
    return as_decimal(max(fitting))


def concentrate_used_fl_oz(
    dial_fl_oz_per_gal: Number, flow_gal_per_min: Number, minutes: Number
) -> Decimal:
    """Return the concentrate that a dial sprayer uses, in fluid ounces.

    dial_fl_oz_per_gal: the setting; flow_gal_per_min: of water; minutes: of spraying

    >>> concentrate_used_fl_oz(Decimal("1.5"), Decimal("3.75"), 4)
    Decimal('22.5')
    """
    water = positive("The flow", flow_gal_per_min) * positive("The time", minutes)
    return as_decimal(positive("The dial setting", dial_fl_oz_per_gal) * water)


def product_for_jar(rate_fl_oz_per_gal: Number, jar_gallons: Number) -> Measure:
    """Return the product for a jar that is filled with water up to its mark for so many gallons.

    rate_fl_oz_per_gal: fluid ounces in a gallon of spray; jar_gallons: the mark on the jar

    What is left in such a jar is diluted and never goes back into the product's container.

    >>> str(product_for_jar(2, 3))
    '6 fl oz'
    """
    return product_for_batch(rate_fl_oz_per_gal, Basis.FLUID_OUNCES_PER_GALLON, gallons=jar_gallons)


def injection_ratio(rate_fl_oz_per_gal: Number) -> Decimal:
    """Return n of the ratio 1:n of concentrate in finished spray; the water is n - 1.

    rate_fl_oz_per_gal: fluid ounces in a gallon of spray; a gallon has 128 [UNL-MATH]

    >>> injection_ratio(1)
    Decimal('128')
    """
    return as_decimal(128 / positive("The rate", rate_fl_oz_per_gal))


def injector_flow_fl_oz_per_min(rate_fl_oz_per_gal: Number, flow_gal_per_min: Number) -> Decimal:
    """Return the concentrate an injector must draw, in fluid ounces a minute.

    rate_fl_oz_per_gal: fluid ounces in a gallon of spray; flow_gal_per_min: of finished spray

    Check it with a timed draw-down: common practice.

    >>> injector_flow_fl_oz_per_min(2, Decimal("3.5"))
    Decimal('7')
    """
    flow = positive("The flow", flow_gal_per_min)
    return as_decimal(positive("The rate", rate_fl_oz_per_gal) * flow)


def findings_on_dial(needed_fl_oz_per_gal: Number, set_fl_oz_per_gal: Number) -> list[Finding]:
    """Return what is to be said of a dial that is set below what the rate needs.

    needed_fl_oz_per_gal, set_fl_oz_per_gal: fluid ounces in a gallon

    >>> [finding.code for finding in findings_on_dial(Decimal("0.6"), Decimal("0.5"))]
    ['dial-below-rate']
    """
    off = (exact(set_fl_oz_per_gal) / positive("The dial setting", needed_fl_oz_per_gal) - 1) * 100
    if off == 0:
        return []
    return [
        Finding(
            "dial-below-rate",
            Severity.NOTE if off >= -WIDEST_STEP_PERCENT else Severity.WARNING,
            gettext_noop("The dial set to %(set)s gives %(percent)s %% against the rate."),
            gettext_noop("Mix in a tank where the rate must be met."),
            {
                "set": as_decimal(exact(set_fl_oz_per_gal)),
                "percent": f"{as_decimal(off):+.1f}",
            },
            "common practice",
        )
    ]


def cautions_at_the_hose() -> list[Finding]:
    """Return the cautions for every sprayer at the end of a hose.

    The flow is measured at the tap in use [PES-HOSE-END]; the rest is common practice.

    >>> [finding.code for finding in cautions_at_the_hose()]
    ['back-siphonage', 'flow-of-the-tap', 'metering-inexact', 'jar-left-over']
    """
    return [
        Finding(code, severity, sentence, remedy, source=source)
        for code, severity, sentence, remedy, source in _CAUTIONS
    ]


_CAUTIONS = [
    (
        "back-siphonage",
        Severity.WARNING,
        gettext_noop("Without a device against back-siphonage the product can reach the water."),
        gettext_noop("Fit one between tap and hose; local plumbing codes come first."),
        "common practice",
    ),
    (
        "flow-of-the-tap",
        Severity.NOTE,
        gettext_noop("The flow depends on the pressure at the tap."),
        gettext_noop("Calibrate at the client's own tap, with the hose that is used."),
        "PES-HOSE-END",
    ),
    (
        "metering-inexact",
        Severity.NOTE,
        gettext_noop("A dial meters inexactly."),
        gettext_noop("Measure what the jar has lost and record that amount."),
        "common practice",
    ),
    (
        "jar-left-over",
        Severity.NOTE,
        gettext_noop(
            "Undiluted concentrate left in a dial jar may go back into its own container where "
            "the label allows; what was mixed with water never may."
        ),
        gettext_noop("Enter what goes back under the same lot."),
        "common practice",
    ),
]
