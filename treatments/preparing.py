"""What is known before a mix: the rates of the label, the spray, and which sprayer takes it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Q

from clients.loaded import all_of
from clients.models import Planting
from treatments.models import Applicator, Calibration, LabelRate, Pest, Product, Sprayer
from treatments.rules.findings import Refused
from treatments.rules.units import Basis
from treatments.water_testing import output_by_test


class RateNotOnLabel(Refused):
    """The label gives no rate for these plants on this basis, so that nothing limits the mix."""


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
    rates = [rate for rate in all_of(product, "rates") if rate.plant_group == plant_group]
    named = [rate for rate in rates if rate.pest_id == pest.pk]
    return named or [rate for rate in rates if rate.pest_id is None] or rates


def label_gallons(product: Product, plant_group: str, pest: Pest) -> Decimal | None:
    """Return the spray that a label gives for 1,000 sq ft, the most it gives; None without one."""
    rates = rates_of(product, plant_group, pest)
    told = [rate.gallons_per_1000_sq_ft for rate in rates if rate.gallons_per_1000_sq_ft]
    return max(told, default=None)


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
