"""What goes into the tank for a week of a rotation on a planting, and which sprayer takes it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

from django.db.models import F, Q
from django.utils.translation import gettext, ngettext

from clients.models import Planting
from treatments.gathering import treated_area_of
from treatments.models import (
    Applicator,
    Calibration,
    LabelRate,
    Pest,
    Product,
    RotationWeek,
    Sprayer,
)
from treatments.rules.measuring import Portion
from treatments.rules.tanks import Adjuvant, Limit, MixPlan, Tank, plan_mix
from treatments.rules.units import Basis, Measure, Unit
from treatments.water_testing import output_by_test

ADJUVANT_BASIS = Basis.FLUID_OUNCES_PER_GALLON


class NothingToMix(ValueError):
    """The week has no product: it is a step without a spray."""


class RateNotOnLabel(ValueError):
    """The label gives no rate for these plants on this basis, so that nothing limits the mix."""


def mix_for(
    week: RotationWeek,
    planting: Planting,
    *,
    sprayer: Sprayer,
    calibration: Calibration | None,
    pest: Pest | None = None,
) -> MixPlan:
    """Return how a week's spray for a planting is mixed, tank by tank.

    The label's own gallons for 1,000 sq ft hold where it gives any, else the calibration, else
    for a strength the newest test with water on the planting.  What the label allows is never
    passed.  Raise the rules' own errors where something does not fit, such as RateAboveLabel or
    CalibrationMissing; RateNotOnLabel where the label is silent.
    """
    product, rate = week.product, week.rate
    if product is None or rate is None:
        raise NothingToMix(gettext("Week %(week)s has no product to mix.") % {"week": week.week})
    rates = rates_of(product, planting.plant_group, pest or week.rotation.pest)
    alike = [rate for rate in rates if rate.basis == week.basis]
    if not alike:
        raise RateNotOnLabel(
            gettext("The label of %(product)s gives no rate in %(basis)s for %(site)s.")
            % {"product": product, "basis": week.basis, "site": planting.get_plant_group_display()}
        )
    told = [rate.gallons_per_1000_sq_ft for rate in alike if rate.gallons_per_1000_sq_ft]
    known = known_output(told[0] if told else None, calibration, planting, Basis(week.basis))
    return plan_mix(
        rate=rate,
        basis=Basis(week.basis),
        maximum_rate=max(rate.maximum for rate in alike),
        minimum_rate=min(rate.minimum for rate in alike),
        tank_gallons=sprayer.tank_gallons,
        treated_area_sq_ft=treated_area_of(planting),
        output_gal_per_1000_sq_ft=known.gallons_per_1000_sq_ft if known else None,
        store_unit=Unit(product.stock_unit),
        product_name=product.name,
        limits=_limits(product),
        adjuvants=_adjuvants(week, planting.plant_group),
    )


@dataclass(frozen=True, slots=True)
class KnownOutput:
    """The spray on 1,000 square feet, and whether label, calibration or water test tells it."""

    gallons_per_1000_sq_ft: Decimal
    source: str


def known_output(
    label_gallons: Decimal | None,
    calibration: Calibration | None,
    planting: Planting | None,
    basis: Basis,
) -> KnownOutput | None:
    """Return the spray on 1,000 sq ft: the label's, else the sprayer's, else a water test's.

    A test serves a strength alone: how much wets the leaves tells nothing of a dose on the ground.
    """
    if label_gallons:
        return KnownOutput(label_gallons, "label")
    if calibration is not None:
        return KnownOutput(calibration.gallons_per_1000_sq_ft, "calibration")
    if planting is None or not basis.is_concentration:
        return None
    tested = output_by_test(planting)
    return None if tested is None else KnownOutput(tested, "water test")


def rates_of(product: Product, plant_group: str, pest: Pest) -> list[LabelRate]:
    """Return the label's rates for plants and pest; those that name the pest go before others."""
    rates = [rate for rate in product.rates.all() if rate.plant_group == plant_group]
    named = [rate for rate in rates if rate.pest_id == pest.pk]
    return named or [rate for rate in rates if rate.pest_id is None] or rates


def _limits(product: Product) -> tuple[Limit, ...]:
    most = product.maximum_amount_per_application
    return () if most is None else (Limit(most, Basis(product.amount_basis)),)


def _adjuvants(week: RotationWeek, plant_group: str) -> tuple[Adjuvant, ...]:
    adjuvant = week.adjuvant
    if adjuvant is None or not week.adjuvant_rate:
        return ()
    rates = [
        rate.maximum
        for rate in adjuvant.rates.all()
        if rate.basis == ADJUVANT_BASIS and rate.plant_group == plant_group
    ]
    most = max(rates, default=None)
    return (Adjuvant(adjuvant.name, week.adjuvant_rate, ADJUVANT_BASIS, most),)


def output_of(sprayer: Sprayer, person: Applicator | None, day: date) -> Calibration | None:
    """Return the newest calibration that holds on a day: the person's own, else anybody's.

    One in another person's hands is none: everybody walks at a pace of his own.
    """
    held = sprayer.calibrations.valid_on(day).filter(Q(person=person) | Q(person=None))
    newest = held.order_by(
        F("person").asc(nulls_last=True), F("calibrated_on").desc(), F("pk").desc()
    )
    return newest.first()


def sprayer_that_fits(
    sprayers: Iterable[Sprayer],
    planting: Planting,
    *,
    spray_gallons: Decimal | None = None,
    needs_agitation: bool = False,
) -> Sprayer | None:
    """Return the sprayer for a planting, or None where none reaches it.

    Of those that reach its height the smallest tank that takes the spray at once, else the
    largest tank: the fewest fillings.
    """
    reaching = [
        sprayer
        for sprayer in sprayers
        if not sprayer.retired
        and sprayer.reach_ft >= planting.height_ft
        and (sprayer.has_agitation or not needs_agitation)
    ]
    by_tank = sorted(reaching, key=lambda sprayer: sprayer.tank_gallons)
    at_once = [
        sprayer for sprayer in by_tank if not spray_gallons or sprayer.tank_gallons >= spray_gallons
    ]
    return next(iter(at_once), by_tank[-1] if by_tank else None)


def measured_words(mix: MixPlan) -> list[str]:
    """Return what is measured into each tank, tanks of one kind together, in the reader's words."""
    return [
        sentence
        for _key, tanks in groupby(mix.tanks, key=_alike)
        for sentence in _tank_words(list(tanks))
    ]


def _alike(tank: Tank) -> tuple[Decimal, Decimal, str]:
    return tank.gallons, tank.water_gallons, str(tank.product.measured)


def _tank_words(tanks: list[Tank]) -> list[str]:
    tank = tanks[0]
    heading = ngettext(
        "%(count)d tank of %(gallons)s gal, with %(water)s gal of water:",
        "%(count)d tanks of %(gallons)s gal, each with %(water)s gal of water:",
        len(tanks),
    )
    facts = {
        "count": len(tanks),
        "gallons": Measure(tank.gallons, Unit.GALLON).shown(),
        "water": Measure(tank.water_gallons, Unit.GALLON).shown(),
    }
    return [heading % facts, *map(_portion_words, (tank.product, *tank.adjuvants))]


def _portion_words(portion: Portion) -> str:
    return gettext("%(measured)s of %(product)s, measured with the %(tool)s") % {
        "measured": portion.measured,
        "product": portion.name,
        "tool": gettext(portion.tool.name),
    }
