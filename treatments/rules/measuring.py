"""What a crew can measure: the tools, their steps, and the amount that comes nearest.

The steps are common practice.  Weight rates are weighed: no spoon or cup is offered for them,
since a spoonful of one dry product weighs up to three times that of another [NEVEG-244].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.units import (
    Kind,
    Measure,
    Number,
    Unit,
    as_decimal,
    exact,
    exact_convert,
    positive,
)

GOOD_ERROR = Decimal("0.02")  # this project's choice
PASSING_ERROR = Decimal("0.05")  # the tolerance trainers use [PES-SPRAY-GUN]
ABSURD_ERROR = Decimal("0.10")  # this project's choice
MOST_FILLINGS = 4  # of one tool for one portion; this project's choice


@dataclass(frozen=True, slots=True)
class Tool:
    """A measure the crew carries: its smallest step, and what it holds at a time."""

    name: str
    step: Decimal
    unit: Unit
    holds: Decimal | None = None


JUG = Tool(gettext_noop("jug"), Decimal(1), Unit.FLUID_OUNCE)
CUP = Tool(gettext_noop("measuring cup"), Decimal("0.25"), Unit.FLUID_OUNCE, Decimal(8))
METRIC_JUG = Tool(gettext_noop("metric jug"), Decimal(25), Unit.MILLILITRE)
METRIC_CUP = Tool(gettext_noop("metric measuring cup"), Decimal(5), Unit.MILLILITRE, Decimal(235))
SYRINGE = Tool(gettext_noop("syringe"), Decimal(1), Unit.MILLILITRE, Decimal(60))
SMALL_SYRINGE = Tool(gettext_noop("small syringe"), Decimal("0.2"), Unit.MILLILITRE, Decimal(10))
SCALE = Tool(gettext_noop("scale"), Decimal(1), Unit.GRAM)
FINE_SCALE = Tool(gettext_noop("fine scale"), Decimal("0.1"), Unit.GRAM)


@dataclass(frozen=True, slots=True)
class Portion:
    """One product in one tank: what it takes exactly, and what is measured for it.

    relative_error: (measured - exact) / exact, so -0.03 is three per cent too little
    """

    name: str
    exact: Measure
    measured: Measure
    tool: Tool
    relative_error: Decimal

    @property
    def fillings(self) -> int:
        """How many times the tool is filled."""
        return 1 if self.tool.holds is None else ceil(self.measured.amount / self.tool.holds)


def tools_for(unit: Unit) -> tuple[Tool, ...]:
    """Return the tools for a product counted in a unit, the coarsest first.

    >>> [tool.name for tool in tools_for(Unit.POUND)]
    ['scale', 'fine scale']
    """
    if unit.kind is Kind.WEIGHT:
        return (SCALE, FINE_SCALE)
    if unit.is_metric:
        return (METRIC_JUG, METRIC_CUP, SYRINGE, SMALL_SYRINGE)
    return (JUG, CUP, METRIC_CUP, SYRINGE, SMALL_SYRINGE)


def nearest_step(amount: Number, step: Number, ceiling: Number | None = None) -> Decimal:
    """Return the multiple of a step nearest to an amount and not above a ceiling.

    amount, step, ceiling: in one unit; the ceiling is the most the label allows

    Halves go down.  Raise AmountUnusable when amount or step is not above zero.

    >>> nearest_step(Decimal("11.52"), 1)
    Decimal('12')
    >>> nearest_step(Decimal("11.52"), 1, ceiling=Decimal("11.52"))
    Decimal('11')
    """
    width = positive("The step", step)
    steps = ceil(positive("The amount", amount) / width - Fraction(1, 2))
    if ceiling is not None:
        steps = min(steps, floor(exact(ceiling) / width))
    return as_decimal(steps * width)


def relative_error(measured: Number, exact_amount: Number) -> Decimal:
    """Return by what part of the exact amount the measured one is off; less is negative.

    measured, exact_amount: in one unit

    >>> relative_error(Decimal("0.25"), Decimal("0.16"))
    Decimal('0.5625')
    """
    return as_decimal(exact(measured) / positive("The exact amount", exact_amount) - 1)


def measure_portion(
    name: str, amount: Fraction, unit: Unit, ceiling: Fraction | None, tools: Sequence[Tool] = ()
) -> Portion:
    """Return what to measure with the coarsest tool that is within 2 %, or with the nearest.

    amount: exact, in `unit`; ceiling: the most that any limit allows, in `unit`
    tools: those at hand, the coarsest first; all that suit the unit when none are named

    Never above the ceiling.  Common practice.

    >>> portion = measure_portion("oil", Fraction(15, 4), Unit.FLUID_OUNCE, None)
    >>> str(portion.measured), portion.tool.name
    ('3.75 fl oz', 'measuring cup')
    """
    within: list[Portion] = []
    for tool in tools or tools_for(unit):
        portion = _measured_with(tool, name, amount, unit, ceiling)
        if portion.fillings <= MOST_FILLINGS:
            if abs(portion.relative_error) <= GOOD_ERROR:
                return portion
            within.append(portion)
    return min(within, key=lambda portion: abs(portion.relative_error))


def _measured_with(
    tool: Tool, name: str, amount: Fraction, unit: Unit, ceiling: Fraction | None
) -> Portion:
    wanted = exact_convert(amount, unit, tool.unit)
    most = None if ceiling is None else exact_convert(ceiling, unit, tool.unit)
    measured = nearest_step(wanted, tool.step, most)
    return Portion(
        name=name,
        exact=Measure(as_decimal(amount), unit),
        measured=Measure(measured, tool.unit),
        tool=tool,
        relative_error=relative_error(measured, wanted),
    )


def findings_on_portion(portion: Portion) -> list[Finding]:
    """Return what is to be said of how closely a portion can be measured.

    Within 2 % nothing, within 5 % a note, within 10 % a warning, beyond that a refusal.  Five
    per cent is the tolerance trainers use [PES-SPRAY-GUN]; the others are this project's.

    >>> findings_on_portion(measure_portion("oil", Fraction(4), Unit.FLUID_OUNCE, None))
    []
    """
    off = abs(portion.relative_error)
    if off <= GOOD_ERROR:
        return []
    if off > ABSURD_ERROR:
        return [_finding_on(portion, "amount-cannot-be-measured", Severity.REFUSAL)]
    severity = Severity.NOTE if off <= PASSING_ERROR else Severity.WARNING
    return [_finding_on(portion, "measuring-error", severity)]


def _finding_on(portion: Portion, code: str, severity: Severity) -> Finding:
    return Finding(
        code=code,
        severity=severity,
        sentence=gettext_noop(
            "%(exact)s of %(product)s is meant; the %(tool)s gives %(measured)s (%(percent)s %%)."
        ),
        remedy=gettext_noop("Measure with a finer tool or mix a larger batch."),
        facts={
            "tool": portion.tool.name,
            "measured": str(portion.measured),
            "product": portion.name,
            "exact": str(portion.exact),
            "percent": f"{portion.relative_error * 100:+.1f}",
        },
        source="common practice",
    )
