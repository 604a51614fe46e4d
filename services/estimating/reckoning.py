"""What each week of a rotation would be charged on plantings, by the price rules of its day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clients.models import Planting
from services.courses import visits_to_be
from services.figures import VisitFigures, price_rules
from services.models import Course, Visit
from services.rules import charging
from services.rules.charging import Charge, Cost, ToCharge, cents
from treatments.checking import product_facts
from treatments.checking.planned import is_spray, planned_week
from treatments.gathering import treated_area_of, with_labels
from treatments.models import Product, Rotation
from treatments.storekeeping import first_expiry_first


@dataclass(frozen=True, slots=True)
class PricedWeek:
    """A week to be: its visit, which is in no book yet, and its charge as it is reckoned now."""

    visit: Visit
    charge: Charge

    def figures(self) -> VisitFigures:
        """Return the same as the words of prices need it."""
        return VisitFigures(self.visit, self.visit.planned, Cost(), self.charge)


def priced_weeks(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date
) -> list[PricedWeek]:
    """Return the weeks of a rotation on plantings of one property, priced where they can be.

    Hours are not known before the work, so a price by the hour is left to a person.  Product is
    reckoned by the label's own spray at the cost of the lot that is used first.
    """
    course = Course(property=plantings[0].property, rotation=rotation, first_day=first_day)
    rules = price_rules()
    loaded = {
        product.pk: product
        for product in with_labels(Product.objects.filter(rotation_weeks__rotation=rotation))
    }
    return [
        PricedWeek(visit, charging.charge_of(_to_charge(visit, plantings, loaded), rules))
        for visit in visits_to_be(course)
    ]


def _to_charge(visit: Visit, plantings: Sequence[Planting], loaded: dict[int, Product]) -> ToCharge:
    place, sprays = visit.course.property, is_spray(visit.rotation_week)
    areas = [treated_area_of(planting) for planting in plantings]
    return ToCharge(
        day=visit.planned,
        client=place.client_id,
        property=place.pk,
        rotation=visit.course.rotation_id,
        area_sq_ft=sum(areas, Decimal(0)) if sprays else None,
        product_cost=_product_cost(visit, plantings, loaded) if sprays else Decimal(0),
    )


def _product_cost(
    visit: Visit, plantings: Sequence[Planting], loaded: dict[int, Product]
) -> Decimal | None:
    """Return what the product of a week will cost, None where an amount or a cost is unknown."""
    week = visit.rotation_week
    product = loaded[week.sprayed_product().pk]
    lots = first_expiry_first(product, visit.planned)
    cost = lots[0].unit_cost if lots else product.price
    if cost is None or week.adjuvant_id is not None:
        return None
    amounts = [
        planned_week(
            week,
            visit.planned,
            product=product,
            facts=product_facts(product),
            pest=visit.course.rotation.pest,
            plant_group=planting.plant_group,
            area_sq_ft=treated_area_of(planting),
        ).amount
        for planting in plantings
    ]
    known = [Fraction(amount) for amount in amounts if amount is not None]
    if len(known) < len(amounts):
        return None
    return cents(sum(known, Fraction(0)) * Fraction(cost))
