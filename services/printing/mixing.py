"""How the spray of a visit is mixed: which sprayer, how much, and tank by tank.

Plantings that get the same spray share a tank, so that a stop has one mix and one rest.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import cast

from django.utils.translation import gettext as _

from clients.models import Planting
from services.models import Crew, Visit
from treatments.gathering import treated_area_of
from treatments.models import Calibration, LabelRate, Product, Sprayer
from treatments.preparing import ADJUVANT_BASIS, rates_of
from treatments.rules.findings import gettext_noop, say_refusal
from treatments.rules.labels.rates import rate_in
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel
from treatments.rules.tanks import Adjuvant, Limit, MixPlan, Tank, TankUnusable, plan_mix
from treatments.rules.units import AmountUnusable, Basis, Measure, Unit, UnitMismatch

NO_SPRAYER = gettext_noop("No sprayer that reaches the planting is on the truck.")
NOT_CALIBRATED = gettext_noop("%(sprayer)s has no calibration that holds on %(day)s.")
UNMIXABLE = (RateAboveLabel, CalibrationMissing, TankUnusable, AmountUnusable, UnitMismatch)


@dataclass(frozen=True, slots=True)
class Mixing:
    """The mix of a visit with the sprayer it is for, or the sentence that says why there is none.

    plans: one for all plantings that may share a tank; empty where `problem` says why
    gallons: of spray, by the planting's id
    """

    plans: tuple[MixPlan, ...] = ()
    sprayer: Sprayer | None = None
    calibration: Calibration | None = None
    gallons: Mapping[int, Decimal] = field(default_factory=dict)
    problem: str = ""

    def tanks(self) -> list[Tank]:
        """Return the tanks of all plans, in order."""
        return [tank for plan in self.plans for tank in plan.tanks]

    def measured(self) -> Measure:
        """Return the product measured in all, in the unit of the store."""
        totals = [plan.total_from_store for plan in self.plans]
        return Measure(sum((each.amount for each in totals), Decimal(0)), totals[0].unit)


def mixing_of(visit: Visit, crew: Crew | None, day: date) -> Mixing:
    """Return how the spray of a visit is mixed by a crew on a day, by label and calibration."""
    sprayer, calibration = sprayer_for(visit, crew, day)
    if sprayer is None:
        return Mixing(problem=_(NO_SPRAYER))
    outputs = outputs_of(visit, calibration)
    if outputs is None:
        facts = {"sprayer": sprayer.name, "day": day.isoformat()}
        return Mixing(sprayer=sprayer, problem=_(NOT_CALIBRATED) % facts)
    plantings = list(visit.course.plantings.all())
    try:
        plans = tuple(
            _plan(visit, sprayer, batch, outputs) for batch in _batches(visit, plantings, outputs)
        )
    except UNMIXABLE as reason:
        return Mixing(sprayer=sprayer, calibration=calibration, problem=say_refusal(reason, _))
    gallons = {each.pk: _gallons(each, outputs) for each in plantings}
    return Mixing(plans, sprayer, calibration, gallons)


def sprayed_at(visit: Visit) -> Product:
    """Return the product of a visit at which something is sprayed."""
    return cast(Product, visit.rotation_week.product)


def sprayer_for(
    visit: Visit, crew: Crew | None, day: date
) -> tuple[Sprayer | None, Calibration | None]:
    """Return the sprayer of a crew's truck for a visit, and its newest calibration of the day.

    It must reach the tallest planting and stir where the label asks; a calibrated one goes first,
    then the one with the fewest fillings, then the smallest tank, which leaves the least to clean.
    """
    truck = getattr(crew, "truck", None)
    height = max((each.height_ft for each in visit.course.plantings.all()), default=Decimal(0))
    stirs = sprayed_at(visit).needs_agitation
    fitting = [
        (each, calibration_on(each, crew, day))
        for each in (truck.sprayers.all() if truck else [])
        if each.reach_ft >= height and (each.has_agitation or not stirs) and not each.retired
    ]
    return min(fitting, key=lambda pair: _order(visit, *pair), default=(None, None))


def calibration_on(sprayer: Sprayer, crew: Crew | None, day: date) -> Calibration | None:
    """Return the newest calibration of a sprayer that holds on a day, in the hands of the crew.

    One in nobody's hands serves too; what was prefetched is read.
    """
    people = {person.user_id for person in crew.technicians.all()} if crew else set()
    held = [
        each
        for each in sprayer.calibrations.all()
        if each.calibrated_on <= day <= each.expires_on
        and (each.person is None or each.person.user_id in people)
    ]
    return max(held, key=lambda each: (each.calibrated_on, each.pk), default=None)


def _order(visit: Visit, sprayer: Sprayer, calibration: Calibration | None) -> tuple:
    outputs = outputs_of(visit, calibration)
    spray = Decimal(0)
    if outputs:
        spray = sum((_gallons(each, outputs) for each in visit.course.plantings.all()), spray)
    fillings = -(-spray // sprayer.tank_gallons)
    return calibration is None, fillings, sprayer.tank_gallons, sprayer.name


def outputs_of(visit: Visit, calibration: Calibration | None) -> dict[int, Decimal] | None:
    """Return the gallons for 1,000 sq ft of each planting: the label's, else the sprayer's.

    None where one of them has neither.
    """
    own = calibration.gallons_per_1000_sq_ft if calibration else None
    outputs = {}
    for planting in visit.course.plantings.all():
        output = label_gallons(visit, planting.plant_group) or own
        if output is None:
            return None
        outputs[planting.pk] = output
    return outputs or None


def label_gallons(visit: Visit, plant_group: str) -> Decimal | None:
    """Return the spray the label gives for 1,000 sq ft, the most it gives, or None."""
    rates = rates_of(sprayed_at(visit), plant_group, visit.course.rotation.pest)
    told = [rate.gallons_per_1000_sq_ft for rate in rates if rate.gallons_per_1000_sq_ft]
    return max(told, default=None)


def _gallons(planting: Planting, outputs: Mapping[int, Decimal]) -> Decimal:
    return treated_area_of(planting) / 1000 * outputs[planting.pk]


def _batches(
    visit: Visit, plantings: list[Planting], outputs: Mapping[int, Decimal]
) -> list[list[Planting]]:
    """Return the plantings that may share a tank; by a dose on the ground, those sprayed alike."""
    if Basis(visit.rotation_week.basis).is_concentration:
        return [plantings]
    by_output: dict[Decimal, list[Planting]] = defaultdict(list)
    for planting in plantings:
        by_output[outputs[planting.pk]].append(planting)
    return list(by_output.values())


def _plan(
    visit: Visit, sprayer: Sprayer, plantings: list[Planting], outputs: Mapping[int, Decimal]
) -> MixPlan:
    week, product = visit.rotation_week, sprayed_at(visit)
    lowest, highest = label_range(visit)
    return plan_mix(
        rate=week.rate,
        basis=Basis(week.basis),
        maximum_rate=highest,
        minimum_rate=lowest,
        tank_gallons=sprayer.tank_gallons,
        spray_gallons=sum((_gallons(each, outputs) for each in plantings), Decimal(0)),
        treated_area_sq_ft=sum((treated_area_of(each) for each in plantings), Decimal(0)),
        store_unit=Unit(product.stock_unit),
        product_name=product.name,
        limits=_limits(product),
        adjuvants=_adjuvants(visit),
    )


def area_of(visit: Visit) -> Decimal:
    """Return what is treated at a visit, in square feet."""
    return sum((treated_area_of(each) for each in visit.course.plantings.all()), Decimal(0))


def _limits(product: Product) -> tuple[Limit, ...]:
    most = product.maximum_amount_per_application
    return () if most is None else (Limit(most, Basis(product.amount_basis)),)


def label_range(visit: Visit) -> tuple[Decimal | None, Decimal | None]:
    """Return lowest and highest rate of the label on the basis of the week.

    Where plantings stand under several groups of the label, the strictest holds.
    """
    product, pest = sprayed_at(visit), visit.course.rotation.pest
    groups = sorted({planting.plant_group for planting in visit.course.plantings.all()})
    by_group = [_range(visit, rates_of(product, group, pest)) for group in groups]
    return (
        max((lowest for lowest, _highest in by_group if lowest is not None), default=None),
        min((highest for _lowest, highest in by_group if highest is not None), default=None),
    )


def _range(visit: Visit, rates: Iterable[LabelRate]) -> tuple[Decimal | None, Decimal | None]:
    basis = visit.rotation_week.basis
    told = [
        (rate_in(rate.minimum, rate.basis, basis), rate_in(rate.maximum, rate.basis, basis))
        for rate in rates
    ]
    return (
        min((lowest for lowest, _highest in told if lowest is not None), default=None),
        max((highest for _lowest, highest in told if highest is not None), default=None),
    )


def _adjuvants(visit: Visit) -> tuple[Adjuvant, ...]:
    """Return what is mixed in beside the product, never above what its label allows anywhere."""
    week = visit.rotation_week
    if week.adjuvant is None or not week.adjuvant_rate:
        return ()
    groups = {planting.plant_group for planting in visit.course.plantings.all()}
    told = [
        rate.maximum
        for rate in week.adjuvant.rates.all()
        if rate.basis == ADJUVANT_BASIS and rate.plant_group in groups
    ]
    most = min(told, default=None)
    return (Adjuvant(week.adjuvant.name, week.adjuvant_rate, ADJUVANT_BASIS, most),)
