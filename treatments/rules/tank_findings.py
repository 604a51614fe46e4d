"""What is to be said of a mix: limits, measuring, room in the tank, and under-dosing."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import chain

from treatments.rules.batches import Addition, Job, Limit, Tank, limit_in
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.measuring import findings_on_portion
from treatments.rules.units import Measure, Unit, as_decimal, exact, exact_convert


def measured_in_all(tanks: Sequence[Tank], unit: Unit) -> Fraction:
    """Return what the measured amounts of the product come to, in a unit.

    >>> measured_in_all([], Unit.GALLON)
    Fraction(0, 1)
    """
    portions = [tank.product.measured for tank in tanks]
    return sum((exact_convert(part.amount, part.unit, unit) for part in portions), Fraction(0))


def findings_on_limits(job: Job, additions: Sequence[Addition]) -> list[Finding]:
    """Return a refusal for each limit that the job passes or that cannot be checked.

    job: with its area where known; additions: the product and its adjuvants

    >>> findings_on_limits(Job(Fraction(10), None), [])
    []
    """
    pairs = [(addition, limit) for addition in additions for limit in addition.limits]
    found = (_finding_on_limit(job, addition, limit) for addition, limit in pairs)
    return [finding for finding in found if finding is not None]


def _finding_on_limit(job: Job, addition: Addition, limit: Limit) -> Finding | None:
    facts = {"product": addition.name, "maximum": str(limit.maximum), "basis": str(limit.basis)}
    allowed = limit_in(job, limit, job.spray, addition.unit)
    if allowed is None:
        return Finding(
            "limit-unchecked",
            Severity.REFUSAL,
            gettext_noop(
                "%(product)s has a limit of %(maximum)s %(basis)s, and the area is not known."
            ),
            gettext_noop("Measure the area, or calibrate the sprayer."),
            facts,
        )
    wanted = job.product_in(addition.rate, addition.basis, job.spray)
    if wanted <= allowed:
        return None
    return Finding(
        "limit-passed",
        Severity.REFUSAL,
        gettext_noop(
            "So much spray would carry more %(product)s than the label's %(maximum)s %(basis)s."
        ),
        gettext_noop("Spray less on the same area, or mix a weaker spray."),
        facts,
    )


def findings_on_tanks(tanks: Sequence[Tank], smallest: Fraction) -> list[Finding]:
    """Return what is to be said of how the tanks are measured and filled.

    tanks: as planned; smallest: the least the sprayer can spray, in US gallons

    >>> findings_on_tanks([], Fraction(1))
    []
    """
    # Tanks of one size are measured alike: one finding speaks for all of them.
    unlike = {tank.gallons: tank for tank in tanks}.values()
    return [
        finding
        for tank in unlike
        for finding in chain(
            *map(findings_on_portion, (tank.product, *tank.adjuvants)),
            _findings_on_volume(tank, smallest),
        )
    ]


def _findings_on_volume(tank: Tank, smallest: Fraction) -> list[Finding]:
    facts = {"gallons": Measure(tank.gallons, Unit.GALLON).shown()}
    if tank.water_gallons < 0:
        return [
            Finding(
                "over-capacity",
                Severity.REFUSAL,
                gettext_noop("The products alone fill more than the tank's %(gallons)s gal."),
                gettext_noop("Check the rates; mix a weaker spray or a larger batch."),
                facts,
                "common practice",
            )
        ]
    if exact(tank.gallons) >= smallest:
        return []
    return [
        Finding(
            "batch-too-small",
            Severity.WARNING,
            gettext_noop("A batch of %(gallons)s gal is less than the sprayer can spray."),
            gettext_noop("Take a smaller sprayer."),
            facts,
            "common practice",
        )
    ]


def findings_on_rinsate(last: Tank, rinsate: Fraction) -> list[Finding]:
    """Return a warning when the last tank's water is less than the rinse water for it.

    last: the tank that takes the rinse water; rinsate: in US gallons

    Rinse water counts as water of the mix: common practice.

    >>> from decimal import Decimal
    >>> from treatments.rules.measuring import measure_portion
    >>> oil = measure_portion("oil", Fraction(4), Unit.FLUID_OUNCE, None)
    >>> last = Tank(Decimal(1), Decimal("0.5"), oil)
    >>> [finding.code for finding in findings_on_rinsate(last, Fraction(3, 4))]
    ['rinsate-does-not-fit']
    """
    if not rinsate or rinsate <= exact(last.water_gallons):
        return []
    return [
        Finding(
            "rinsate-does-not-fit",
            Severity.WARNING,
            gettext_noop(
                "The last tank takes %(water)s gal of water, less than %(rinsate)s gal of rinse."
            ),
            gettext_noop("Rinse the container into an earlier tank or keep water back for it."),
            {
                "water": Measure(last.water_gallons, Unit.GALLON).shown(),
                "rinsate": Measure(as_decimal(rinsate), Unit.GALLON).shown(),
            },
            "common practice",
        )
    ]


def findings_on_dose(job: Job, product: Addition, tanks: Sequence[Tank]) -> list[Finding]:
    """Return a warning when the measured amounts stay below the label's lowest rate.

    job, product, tanks: as planned; the lowest rate may be None

    >>> from treatments.rules.units import Basis
    >>> oil = Addition("oil", 1, Basis.FLUID_OUNCES_PER_GALLON, limits=())
    >>> findings_on_dose(Job(Fraction(1), None), oil, [])
    []
    """
    if product.minimum_rate is None:
        return []
    least = job.product_in(product.minimum_rate, product.basis, job.spray)
    measured = measured_in_all(tanks, product.unit)
    if measured >= least:
        return []
    unit = product.unit
    return [
        Finding(
            "below-label-minimum",
            Severity.WARNING,
            gettext_noop(
                "%(measured)s of %(product)s is less than the %(least)s of the label's lowest rate."
            ),
            gettext_noop("Choose a higher rate or measure with a finer tool."),
            {
                "product": product.name,
                "measured": str(Measure(as_decimal(measured), unit)),
                "least": str(Measure(as_decimal(least), unit)),
            },
        )
    ]
