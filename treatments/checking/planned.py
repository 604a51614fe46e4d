"""Turns weeks and rates into the planned applications that the rules are given."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from treatments.gathering import amount_on_ground
from treatments.models import Pest, Product, RotationWeek
from treatments.preparing import label_gallons
from treatments.rules.facts import PlannedApplication, ProductFacts
from treatments.rules.mixing import CalibrationMissing, product_for_batch
from treatments.rules.units import Basis, Measure, Unit, UnitMismatch


def days_of_weeks(
    weeks: Iterable[RotationWeek], first_day: date
) -> Iterator[tuple[RotationWeek, date]]:
    """Yield the weeks of a rotation in their order, each with its planned day."""
    day = first_day
    for place, week in enumerate(sorted(weeks, key=lambda each: each.week)):
        day += timedelta(days=week.planned_days if place else 0)
        yield week, day


def is_spray(week: RotationWeek) -> bool:
    """Say whether a week has a product with a rate that can be checked."""
    return bool(
        week.step == RotationWeek.Step.SPRAY and week.product_id and week.rate and week.basis
    )


def planned_week(
    week: RotationWeek,
    day: date,
    *,
    product: Product,
    facts: ProductFacts,
    pest: Pest,
    plant_group: str,
    area_sq_ft: Decimal,
) -> PlannedApplication:
    """Return a week of a rotation on a day as the rules are given it."""
    application = planned_application(
        product=product,
        facts=facts,
        pest=pest,
        plant_group=plant_group,
        rate=week.rate or Decimal(0),
        basis=Basis(week.basis),
        day=day,
        area_sq_ft=area_sq_ft,
    )
    return replace(
        application,
        week=week.week,
        at_dusk=week.at_dusk,
        with_spreader=week.adjuvant_id is not None,
    )


def planned_application(
    *,
    product: Product,
    facts: ProductFacts,
    pest: Pest,
    plant_group: str,
    rate: Decimal,
    basis: Basis,
    day: date,
    area_sq_ft: Decimal | None = None,
) -> PlannedApplication:
    """Return one application as the rules are given it, with its amounts where they are known.

    The strength of a spray becomes a dose by the label's own gallons for 1,000 sq ft; where the
    label has none, the amount is not known before the sprayer is.
    """
    used = _product_used(product, pest, plant_group, rate, basis, area_sq_ft)
    on_ground = _on_ground(used, area_sq_ft, Basis(facts.amount_basis))
    return PlannedApplication(
        week=0,
        day=day,
        product=facts,
        pest=pest.named(),
        rate=rate,
        basis=basis.value,
        amount=_in_store(used, product),
        amount_per_1000_sq_ft=on_ground,
    )


def _product_used(
    product: Product,
    pest: Pest,
    plant_group: str,
    rate: Decimal,
    basis: Basis,
    area_sq_ft: Decimal | None,
) -> Measure | None:
    if area_sq_ft is None or rate <= 0:
        return None
    try:
        return product_for_batch(
            rate,
            basis,
            area_sq_ft=area_sq_ft,
            output_gal_per_1000_sq_ft=label_gallons(product, plant_group, pest),
        )
    except CalibrationMissing:
        return None


def _on_ground(used: Measure | None, area_sq_ft: Decimal | None, basis: Basis) -> Decimal | None:
    return None if used is None else amount_on_ground(used, area_sq_ft, basis)


def _in_store(used: Measure | None, product: Product) -> Decimal | None:
    if used is None:
        return None
    try:
        return used.to(Unit(product.stock_unit)).amount
    except UnitMismatch:
        return None
