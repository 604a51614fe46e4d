"""Flow of nozzles: catching it, changing it by pressure, and wear."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.units import Number, Unit, as_decimal, exact, exact_convert, positive

WARNING_PERCENT = 5  # the band of [MSU-MT200014]
WORN_PERCENT = 10  # [UGA-SB16]


def flow_gal_per_min(caught: Number, unit: Unit, seconds: Number) -> Decimal:
    """Return a flow in gallons a minute from a timed catch.

    caught: in `unit`, a volume; seconds: in seconds

    Raise UnitMismatch when the unit is no volume [OKSTATE-TURF].

    >>> flow_gal_per_min(6, Unit.QUART, 300)
    Decimal('0.3')
    """
    gallons = exact_convert(positive("The catch", caught), unit, Unit.GALLON)
    return as_decimal(gallons * 60 / positive("The time", seconds))


def flow_at_pressure(flow: Number, pressure_psi: Number, new_pressure_psi: Number) -> Decimal:
    """Return a nozzle's flow at another pressure, in the unit of the flow.

    flow: at `pressure_psi`; both pressures in pounds a square inch

    Flow goes with the square root of pressure [ISU-ICM844].  For small trims alone: pressure
    changes the size of the drops, and with it the drift.

    >>> flow_at_pressure(1, 20, 80)
    Decimal('2')
    """
    ratio = positive("The pressure", new_pressure_psi) / positive("The pressure", pressure_psi)
    return as_decimal(positive("The flow", flow) * exact(as_decimal(ratio).sqrt()))


def pressure_for_flow(pressure_psi: Number, flow: Number, new_flow: Number) -> Decimal:
    """Return the pressure that another flow of the same nozzle needs, in pounds a square inch.

    pressure_psi: at `flow`; flow, new_flow: in one unit, or the speeds that ask for them

    Pressure goes with the square of the flow [ISU-ICM844].

    >>> pressure_for_flow(40, 12, 15)
    Decimal('62.5')
    """
    ratio = positive("The flow", new_flow) / positive("The flow", flow)
    return as_decimal(positive("The pressure", pressure_psi) * ratio**2)


def water_equivalent_flow(flow: Number, specific_gravity: Number) -> Decimal:
    """Return the flow of water to choose a nozzle by, for a heavier or lighter liquid.

    flow: of the liquid, in any unit; specific_gravity: of the liquid, water being 1

    The flow times the root of the specific gravity: from the orifice equation, from memory.

    >>> round(water_equivalent_flow(1, Decimal("1.28")), 2)
    Decimal('1.13')
    """
    gravity = as_decimal(positive("The specific gravity", specific_gravity))
    return as_decimal(positive("The flow", flow) * exact(gravity.sqrt()))


def band(average: Number, percent: Number) -> tuple[Decimal, Decimal]:
    """Return the lowest and highest flow within so many per cent of an average.

    average: in any unit [MSU-MT200014]

    >>> band(100, 5)
    (Decimal('95'), Decimal('105'))
    """
    width = positive("The average", average) * exact(percent) / 100
    return as_decimal(exact(average) - width), as_decimal(exact(average) + width)


def findings_on_nozzles(flows: Sequence[Number], new_flow: Number | None = None) -> list[Finding]:
    """Return what is to be said of each nozzle's flow against a new one, or against their mean.

    flows: of each nozzle in order, in one unit; new_flow: of a new nozzle, in the same unit

    Beyond 10 % the nozzle is replaced [UGA-SB16]; beyond 5 % it is watched [MSU-MT200014].

    >>> [finding.code for finding in findings_on_nozzles([100, 106, 111], new_flow=100)]
    ['nozzle-wearing', 'nozzle-worn']
    """
    measured = [positive("A flow", flow) for flow in flows]
    if not measured:
        return []
    reference = sum(measured) / Fraction(len(measured))
    if new_flow is not None:
        reference = positive("The flow of a new nozzle", new_flow)
    found = (_finding_on(number, flow / reference - 1) for number, flow in enumerate(measured, 1))
    return [finding for finding in found if finding is not None]


def _finding_on(number: int, off: Fraction) -> Finding | None:
    percent = abs(off) * 100
    if percent <= WARNING_PERCENT:
        return None
    facts = {"number": number, "percent": f"{as_decimal(off) * 100:+.1f}"}
    if percent <= WORN_PERCENT:
        return Finding(
            "nozzle-wearing",
            Severity.WARNING,
            gettext_noop("Nozzle %(number)s flows %(percent)s %% against the reference."),
            gettext_noop("Clean it and catch again; keep a new one ready."),
            facts,
            "MSU-MT200014",
        )
    return Finding(
        "nozzle-worn",
        Severity.REFUSAL,
        gettext_noop("Nozzle %(number)s flows %(percent)s %%, more than 10 %% off."),
        gettext_noop("Replace the nozzle and calibrate again."),
        facts,
        "UGA-SB16",
    )
