"""A mix tank by tank: exact and measured amounts, what the label allows, and how it is filled."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from treatments.gathering import planting_facts, product_facts
from treatments.mixing.asked import Asked
from treatments.mixing.label import LabelRange, label_range, other_limits
from treatments.mixing.volume import Volume, volume_of
from treatments.models import Calibration, Product
from treatments.preparing import RateNotOnLabel, output_of
from treatments.rules.batches import Addition, Job
from treatments.rules.compatibility import check_spreader
from treatments.rules.facts import PlannedApplication
from treatments.rules.filling import (
    Ingredient,
    NoPlaceInTank,
    Role,
    Step,
    filling_steps,
    rinse_water_gallons,
    rinsing_steps,
)
from treatments.rules.findings import Finding, refuses, say_refusal
from treatments.rules.labels import check_organic, check_site
from treatments.rules.measuring import Portion
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel
from treatments.rules.tanks import Adjuvant, Limit, MixPlan, Tank, TankUnusable, plan_mix
from treatments.rules.units import AmountUnusable, Basis, Measure, Unit, UnitMismatch, as_decimal
from treatments.rules.units import exact as exactly

UNMIXABLE = (
    RateNotOnLabel,
    CalibrationMissing,
    TankUnusable,
    AmountUnusable,
    UnitMismatch,
)


@dataclass(frozen=True, slots=True)
class PortionRow:
    """One thing in a tank as it is measured, beside the most its label allows there."""

    portion: Portion
    most: Measure | None


@dataclass(frozen=True, slots=True)
class Batch:
    """Tanks that are filled alike, by their numbers, and the steps that fill one of them.

    no_order: why there are no steps, where there are none
    """

    first: int
    last: int
    tank: Tank
    rows: tuple[PortionRow, ...]
    steps: tuple[Step, ...] = ()
    no_order: str = ""

    @property
    def number(self) -> int:
        """How many tanks they are."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class Mixed:
    """What comes of a mix that was asked for; without a plan `problem` says why there is none."""

    asked: Asked
    problem: str = ""
    label: LabelRange | None = None
    calibration: Calibration | None = None
    volume: Volume | None = None
    plan: MixPlan | None = None
    batches: tuple[Batch, ...] = ()
    rinsing: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def is_refused(self) -> bool:
        """Whether no amount may be shown."""
        return bool(self.problem) or refuses(list(self.findings))

    @property
    def said(self) -> list[Finding]:
        """What is to be said; a mix that is refused says nothing of how it would be measured."""
        return [
            each
            for each in self.findings
            if not (self.is_refused and each.code == "measuring-error")
        ]


def mix(asked: Asked) -> Mixed:
    """Return how a mix is made, tank by tank; the label is never passed."""
    calibration = output_of(asked.sprayer, asked.person, asked.day)
    beside = _beside_the_tank(asked)
    label = None
    try:
        label = label_range(asked.product, asked.target.plant_group, asked.basis, asked.pest)
        return _mixed(asked, label, calibration, beside)
    except RateAboveLabel:
        problem = _above(asked, label)
    except UNMIXABLE as reason:
        problem = say_refusal(reason, _)
    return Mixed(asked, problem, label, calibration, findings=beside)


def _mixed(
    asked: Asked, label: LabelRange, calibration: Calibration | None, beside: tuple[Finding, ...]
) -> Mixed:
    volume = volume_of(asked, label, calibration)
    plan = _plan(asked, label, volume)
    return Mixed(
        asked=asked,
        label=label,
        calibration=calibration,
        volume=volume,
        plan=plan,
        batches=tuple(_batches(asked, label, volume, plan)),
        rinsing=tuple(rinsing_steps(asked.container_gallons)) if asked.container_gallons else (),
        findings=(*beside, *volume.findings, *plan.findings),
    )


def _above(asked: Asked, label: LabelRange | None) -> str:
    if label is not None and asked.rate > label.highest:
        return _("%(rate)s %(basis)s is above the label's %(highest)s %(basis)s.") % {
            "rate": f"{asked.rate.normalize():f}",
            "basis": asked.basis,
            "highest": f"{label.highest.normalize():f}",
        }
    return _("The rate of %(adjuvant)s is above what its label allows.") % {
        "adjuvant": asked.adjuvant
    }


def _beside_the_tank(asked: Asked) -> tuple[Finding, ...]:
    """Return what the label says of this planting, whatever is in the tank."""
    planting = asked.target.planting
    if planting is None:
        return ()
    product, place = product_facts(asked.product), planting_facts(planting)
    planned = PlannedApplication(
        week=0,
        day=asked.day,
        product=product,
        pest=asked.pest.named() if asked.pest else "",
        rate=asked.rate,
        basis=asked.basis,
        with_spreader=asked.adjuvant is not None,
    )
    found = [
        *check_site(planned, place),
        *check_organic(product, place),
        *check_spreader(planned, place),
    ]
    return tuple(found)


def _plan(asked: Asked, label: LabelRange, volume: Volume) -> MixPlan:
    rinsate = Decimal(0)
    if asked.container_gallons and asked.containers:
        rinsate = rinse_water_gallons(asked.container_gallons) * asked.containers
    return plan_mix(
        rate=asked.rate,
        basis=Basis(asked.basis),
        maximum_rate=label.highest,
        minimum_rate=label.lowest,
        tank_gallons=asked.sprayer.tank_gallons,
        smallest_batch_gallons=asked.smallest_batch_gallons,
        spray_gallons=volume.gallons,
        treated_area_sq_ft=volume.area_sq_ft,
        output_gal_per_1000_sq_ft=volume.output_gal_per_1000_sq_ft,
        store_unit=Unit(asked.product.stock_unit),
        product_name=asked.product.name,
        limits=other_limits(asked.product),
        adjuvants=tuple(_adjuvants(asked)),
        rinsate_gallons=rinsate,
    )


def _adjuvants(asked: Asked) -> Iterator[Adjuvant]:
    adjuvant = asked.adjuvant
    if adjuvant is None or not asked.adjuvant_rate:
        return
    try:
        told = label_range(adjuvant, asked.target.plant_group, asked.adjuvant_basis, None)
    except RateNotOnLabel:
        highest = None  # labels of adjuvants seldom name a site
    else:
        highest = told.highest
    yield Adjuvant(adjuvant.name, asked.adjuvant_rate, Basis(asked.adjuvant_basis), highest)


def _batches(asked: Asked, label: LabelRange, volume: Volume, plan: MixPlan) -> Iterator[Batch]:
    job = _job(volume)
    numbered = enumerate(plan.tanks, 1)
    for _key, group in groupby(numbered, key=lambda pair: _looks(pair[1])):
        alike = list(group)
        tank = alike[0][1]
        rows = tuple(
            PortionRow(portion, _most(addition, job, tank))
            for portion, addition in zip(
                (tank.product, *tank.adjuvants), _additions(asked, label), strict=True
            )
        )
        steps, no_order = _filled(asked, tank)
        yield Batch(alike[0][0], alike[-1][0], tank, rows, steps, no_order)


def _looks(tank: Tank) -> tuple:
    portions = (tank.product, *tank.adjuvants)
    return tank.gallons, tank.water_gallons, *(str(each.measured) for each in portions)


def _job(volume: Volume) -> Job:
    if volume.area_sq_ft is not None:
        return Job(exactly(volume.gallons), exactly(volume.area_sq_ft))
    output = volume.output_gal_per_1000_sq_ft
    area = exactly(volume.gallons) * 1000 / exactly(output) if output else None
    return Job(exactly(volume.gallons), area)


def _additions(asked: Asked, label: LabelRange) -> list[Addition]:
    own = Limit(label.highest, Basis(asked.basis))
    product = Addition(
        asked.product.name,
        asked.rate,
        Basis(asked.basis),
        (own, *other_limits(asked.product)),
    )
    return [
        product,
        *(
            Addition(
                each.name,
                each.rate,
                each.basis,
                () if each.maximum_rate is None else (Limit(each.maximum_rate, each.basis),),
            )
            for each in _adjuvants(asked)
        ),
    ]


def _most(addition: Addition, job: Job, tank: Tank) -> Measure | None:
    ceiling = addition.ceiling_in(job, exactly(tank.gallons))
    return None if ceiling is None else Measure(as_decimal(ceiling), addition.unit)


def _filled(asked: Asked, tank: Tank) -> tuple[tuple[Step, ...], str]:
    things = [_ingredient(asked.product, tank.product)]
    if asked.adjuvant is not None:
        things += [_ingredient(asked.adjuvant, portion) for portion in tank.adjuvants]
    try:
        steps = filling_steps(
            gallons=tank.gallons,
            water_gallons=tank.water_gallons,
            ingredients=things,
            has_agitator=asked.sprayer.has_agitation,
        )
    except (NoPlaceInTank, AmountUnusable) as reason:
        return (), reason.say(_)
    return tuple(steps), ""


def _ingredient(product: Product, portion: Portion) -> Ingredient:
    is_adjuvant = product.kind == Product.Kind.ADJUVANT
    return Ingredient(
        name=product.name,
        formulation=Role.SURFACTANT if is_adjuvant else product.formulation_code,
        measured=portion.measured,
        mixing_rank=product.mixing_rank,
        needs_agitation=product.needs_agitation,
    )
