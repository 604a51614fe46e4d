"""Makes visits as a crew would: what it measured, mixed and applied, told to the book."""

from datetime import datetime, timedelta
from decimal import ROUND_DOWN, ROUND_UP, Decimal
from math import ceil
from random import Random
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from clients.models import Planting
from services.completing import ApplicationReport, complete_visit, start_visit
from services.courses import is_at_dusk, spray_window
from services.demonstration.reading import moment
from services.dispatching.stops import work_leg
from services.models import Crew, Visit
from treatments.gathering import treated_area_of
from treatments.models import ApplicationRecord, Applicator, Product
from treatments.preparing import label_gallons, sprayer_that_fits
from treatments.rules.facts import Conditions
from treatments.rules.mixing import product_for_batch
from treatments.rules.units import Basis, Unit
from treatments.storekeeping import first_expiry_first

SEED = 20
WORKING = timedelta(minutes=35)
WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
# Degrees Fahrenheit while crews are out, January to December: common practice on the river.
USUAL_F = (44, 45, 50, 58, 66, 74, 79, 78, 71, 61, 52, 45)
TALL_FT = 14
NO_ROUTE = "The day's routes were full; the office sent the crew on the telephone, without one."
LABEL_SILENT = Decimal(5)  # gallons on 1,000 sq ft where the label gives none; common practice


def make_visit(visit: Visit) -> list[ApplicationRecord]:
    """Begin and complete a visit at its hour, or at a likely one of its planned day."""
    begins, done = hours_of(visit)
    crew = visit.dispatch.crew if visit.dispatch else _likely_crew(visit)
    applicator = Applicator.objects.filter(
        user__technician__crew=crew, supervisor__isnull=True
    ).get()
    start_visit(visit, by=applicator.user, at=begins)
    return complete_visit(
        visit,
        reports=_reports(visit, crew),
        started_at=begins,
        done_at=done,
        by=applicator.user,
        applicator=applicator,
        conditions=_air(visit, begins),
        captured_at=done + timedelta(minutes=4),
        posted_at=done if visit.rotation_week.product else None,
        note="" if visit.dispatch else NO_ROUTE,
        form_id=uuid5(NAMESPACE_OID, f"demonstration {visit.pk}"),
        now=done + timedelta(minutes=6),
    )


def hours_of(visit: Visit) -> tuple[datetime, datetime]:
    """Return when a visit begins and ends: as its crew was told, or at a likely hour of its day."""
    if visit.dispatch and (leg := work_leg(visit.dispatch, visit)):
        begins, ends = (datetime.fromisoformat(leg[end]) for end in ("from", "until"))
        return begins, ends
    chance = _chance(visit, "hour")
    opens, closes = spray_window(visit, visit.planned)
    wanted = moment(visit.planned, chance.randrange(8, 14), chance.randrange(0, 60, 5))
    begins = wanted if opens <= wanted <= closes - WORKING else opens + timedelta(minutes=2)
    return begins, begins + WORKING


def _likely_crew(visit: Visit) -> Crew:
    """Return the crew that the office would have sent."""
    place = visit.course.property
    name = "Heron" if place.jurisdiction == "US-NJ" else "Alder"
    if any(planting.height_ft > TALL_FT for planting in visit.course.plantings.all()):
        name = "Sycamore"
    elif is_at_dusk(visit, visit.planned):
        name = "Moth" if place.pk % 2 else "Nighthawk"
    return Crew.objects.get(name=name)


def _chance(visit: Visit, what: str) -> Random:
    """Return chance that falls the same way each time the demonstration is loaded."""
    return Random(f"{SEED} {what} {visit.course.property.name} {visit.planned}")  # noqa: S311


def _air(visit: Visit, at: datetime) -> Conditions:
    chance = _chance(visit, "air")
    return Conditions(
        at=at,
        wind_mph=Decimal(chance.randrange(30, 75)) / 10,
        wind_direction=chance.choice(WINDS),
        temperature_f=Decimal(USUAL_F[at.month - 1] + chance.randrange(-3, 5)),
        humidity_percent=Decimal(chance.randrange(48, 76)),
    )


def _reports(visit: Visit, crew: Crew) -> list[ApplicationReport]:
    product = visit.rotation_week.product
    if product is None:
        return []
    plantings = visit.course.plantings.all()
    return [_report(visit, product, planting, crew) for planting in plantings]


def _report(visit: Visit, product: Product, planting: Planting, crew: Crew) -> ApplicationReport:
    week = visit.rotation_week
    gallons = label_gallons(product, planting.plant_group, visit.course.rotation.pest)
    # Nobody mixes hundredths of a gallon, and what is rounded up stays within the label's spray.
    mix = (treated_area_of(planting) / 1000 * (gallons or LABEL_SILENT)).quantize(
        Decimal("0.1"), ROUND_UP
    )
    used = product_for_batch(week.rate or 0, Basis(week.basis), gallons=mix)
    amount = used.to(Unit(product.stock_unit)).amount.quantize(Decimal("0.001"), ROUND_DOWN)
    return ApplicationReport(
        planting=planting,
        lot=_lot(product, amount, visit),
        product_amount=amount,
        mix_gallons=mix,
        sprayer=sprayer_that_fits(
            crew.truck.sprayers.all(),
            planting,
            spray_gallons=Decimal(ceil(mix)),
            needs_agitation=product.needs_agitation,
        ),
        protective_equipment=", ".join(_worn(product)),
        weather="dry",
    )


def _worn(product: Product) -> list[str]:
    return [code.replace("-", " ") for code in product.protective_equipment]


def _lot(product: Product, amount: Decimal, visit: Visit) -> Any:
    """Return the lot that expires first of those that hold enough."""
    lots = first_expiry_first(product, visit.planned)
    return next((lot for lot in lots if lot.balance >= amount), None)
