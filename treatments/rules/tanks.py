"""A job split over tanks: how full each is, and what is measured into it."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from treatments.rules.batches import Addition, Adjuvant, Job, Limit, MixPlan, Tank
from treatments.rules.findings import Finding, Refused, gettext_noop
from treatments.rules.measuring import Portion, measure_portion
from treatments.rules.mixing import CalibrationMissing, refuse_rate_above_label
from treatments.rules.tank_findings import (
    findings_on_dose,
    findings_on_limits,
    findings_on_rinsate,
    findings_on_tanks,
    measured_in_all,
)
from treatments.rules.units import (
    Basis,
    Kind,
    Measure,
    Number,
    Unit,
    as_decimal,
    exact,
    exact_convert,
    positive,
)

__all__ = ["Adjuvant", "Limit", "MixPlan", "Tank", "TankUnusable", "plan_mix", "split_spray"]
TOO_SMALL = gettext_noop("The tank takes %(gallons)s gal, less than its smallest batch.")
GIVE_SPRAY_OR_AREA = gettext_noop("Give the gallons of spray, or the area and the output.")


class TankUnusable(Refused):
    """A tank cannot spray the smallest batch that is asked of it."""


def split_spray(
    spray_gallons: Number, tank_gallons: Number, smallest_batch_gallons: Number = 0
) -> tuple[Decimal, ...]:
    """Return the gallons of each tank; none of them is zero.

    spray_gallons: finished spray for the job; tank_gallons: what the tank really takes
    smallest_batch_gallons: less than this the sprayer cannot spray

    A rest too small to spray is spread evenly over all tanks.  Raise TankUnusable when the
    smallest batch does not fit the tank.  Common practice.

    >>> split_spray(Decimal("18.5"), 4)
    (Decimal('4'), Decimal('4'), Decimal('4'), Decimal('4'), Decimal('2.5'))
    >>> split_spray(9, 4, smallest_batch_gallons=2)
    (Decimal('3'), Decimal('3'), Decimal('3'))
    """
    parts = _split(spray_gallons, tank_gallons, smallest_batch_gallons)
    return tuple(as_decimal(part) for part in parts)


def _split(spray_gallons: Number, tank_gallons: Number, smallest: Number) -> list[Fraction]:
    spray, tank = positive("The spray", spray_gallons), positive("The tank", tank_gallons)
    if exact(smallest) > tank:
        raise TankUnusable(TOO_SMALL, gallons=str(tank_gallons))
    full, rest = divmod(spray, tank)
    if not rest:
        return [tank] * full
    if full and rest < exact(smallest):
        return [spray / (full + 1)] * (full + 1)
    return [tank] * full + [rest]


def plan_mix(
    *,
    rate: Decimal,
    basis: Basis,
    maximum_rate: Decimal | None,
    tank_gallons: Decimal,
    smallest_batch_gallons: Decimal = Decimal(0),
    spray_gallons: Decimal | None = None,
    treated_area_sq_ft: Decimal | None = None,
    output_gal_per_1000_sq_ft: Decimal | None = None,
    store_unit: Unit | None = None,
    product_name: str = "product",
    minimum_rate: Decimal | None = None,
    limits: Sequence[Limit] = (),
    adjuvants: Sequence[Adjuvant] = (),
    rinsate_gallons: Decimal = Decimal(0),
) -> MixPlan:
    """Return how a job is mixed, tank by tank, and what is to be said of it.

    rate, maximum_rate, minimum_rate: of the label, in the unit of the basis
    tank_gallons, smallest_batch_gallons: what the tank takes and can still spray, in US gallons
    spray_gallons: finished spray; or the area in square feet with the sprayer's output
    store_unit: the unit the lot is kept in; the unit of the rate when None
    limits: other maxima of the label, such as one for an acre beside a rate for a gallon
    rinsate_gallons: rinse water of the emptied containers, put in the last tank as water

    A measured amount never passes the maximum rate or a limit.  Raise RateAboveLabel,
    CalibrationMissing, TankUnusable, AmountUnusable or UnitMismatch.  Strengths by
    the gallons [PES-MIXING]; splitting and measuring as is common practice.

    >>> plan = plan_mix(rate=Decimal("1.5"), basis=Basis("fl oz/gal"), maximum_rate=Decimal(2),
    ...                 spray_gallons=Decimal("18.5"), tank_gallons=Decimal(4))
    >>> [str(tank.product.measured) for tank in plan.tanks], str(plan.total)
    (['6 fl oz', '6 fl oz', '6 fl oz', '6 fl oz', '3.75 fl oz'], '27.75 fl oz')
    """
    refuse_rate_above_label(rate, maximum_rate, basis)
    for adjuvant in adjuvants:
        refuse_rate_above_label(adjuvant.rate, adjuvant.maximum_rate, adjuvant.basis)
    job = _job(spray_gallons, treated_area_sq_ft, output_gal_per_1000_sq_ft)
    own = _own_limit(maximum_rate, basis)
    product = Addition(product_name, rate, basis, own + tuple(limits), minimum_rate)
    others = [_beside(adjuvant) for adjuvant in adjuvants]
    volumes = _split(job.spray, tank_gallons, smallest_batch_gallons)
    tanks = [_fill(job, product, others, gallons) for gallons in volumes]
    return _plan(
        job,
        product,
        _with_rinsate(tanks, exact(rinsate_gallons)),
        full_tanks=volumes.count(exact(tank_gallons)),
        store_unit=store_unit or basis.amount_unit,
        findings=[
            *findings_on_limits(job, [product, *others]),
            *findings_on_tanks(tanks, exact(smallest_batch_gallons)),
            *findings_on_rinsate(tanks[-1], exact(rinsate_gallons)),
            *findings_on_dose(job, product, tanks),
        ],
    )


def _job(spray: Number | None, area: Number | None, output: Number | None) -> Job:
    if spray is None and (area is None or output is None):
        raise CalibrationMissing(GIVE_SPRAY_OR_AREA)
    per_sq_ft = None if output is None else positive("The output", output) / 1000
    if spray is None:
        ground = positive("The area", area or 0)
        return Job(ground * (per_sq_ft or 0), ground)
    gallons = positive("The spray", spray)
    if area is not None:
        return Job(gallons, positive("The area", area))
    return Job(gallons, None if per_sq_ft is None else gallons / per_sq_ft)


def _own_limit(maximum_rate: Decimal | None, basis: Basis) -> tuple[Limit, ...]:
    return () if maximum_rate is None else (Limit(maximum_rate, basis),)


def _beside(adjuvant: Adjuvant) -> Addition:
    limits = _own_limit(adjuvant.maximum_rate, adjuvant.basis)
    return Addition(adjuvant.name, adjuvant.rate, adjuvant.basis, limits)


def _fill(job: Job, product: Addition, others: Sequence[Addition], gallons: Fraction) -> Tank:
    portions = [_portion(job, addition, gallons) for addition in (product, *others)]
    liquid = sum((_gallons_of(portion) for portion in portions), Fraction(0))
    return Tank(
        gallons=as_decimal(gallons),
        water_gallons=as_decimal(gallons - liquid),
        product=portions[0],
        adjuvants=tuple(portions[1:]),
    )


def _portion(job: Job, addition: Addition, gallons: Fraction) -> Portion:
    amount = job.product_in(addition.rate, addition.basis, gallons)
    ceiling = addition.ceiling_in(job, gallons)
    return measure_portion(addition.name, amount, addition.unit, ceiling)


def _gallons_of(portion: Portion) -> Fraction:
    # A dry product's own volume is left out: it hardly raises the level.  Common practice.
    if portion.measured.unit.kind is Kind.WEIGHT:
        return Fraction(0)
    return exact_convert(portion.measured.amount, portion.measured.unit, Unit.GALLON)


def _with_rinsate(tanks: list[Tank], rinsate: Fraction) -> tuple[Tank, ...]:
    if not rinsate:
        return tuple(tanks)
    *earlier, last = tanks
    water = as_decimal(max(exact(last.water_gallons) - rinsate, Fraction(0)))
    return (*earlier, Tank(last.gallons, water, last.product, last.adjuvants))


def _plan(
    job: Job,
    product: Addition,
    tanks: tuple[Tank, ...],
    *,
    full_tanks: int,
    store_unit: Unit,
    findings: list[Finding],
) -> MixPlan:
    unit = product.unit
    measured = measured_in_all(tanks, unit)
    return MixPlan(
        spray_gallons=as_decimal(job.spray),
        full_tanks=full_tanks,
        tanks=tanks,
        total=Measure(as_decimal(job.product_in(product.rate, product.basis, job.spray)), unit),
        total_measured=Measure(as_decimal(measured), unit),
        total_from_store=Measure(as_decimal(exact_convert(measured, unit, store_unit)), store_unit),
        findings=findings,
    )
