"""What visits cost and are charged: gathered for the rules in a fixed number of queries.

People are those of the crew that was sent, as it stands now; where none was, those whom the
records name.  The way is that of the route as it was planned.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Prefetch, QuerySet

from services.courses import local_day
from services.models import CostRate, EstimateWeek, PriceRule, Visit
from services.printing.summaries import standing_records
from services.rules import charging
from services.rules.charging import Charge, Cost, Drive, Kind, PricedBy, ToCharge, Used, Work
from services.rules.charging.costs import LOT_HAS_NO_COST, LOT_NOT_KNOWN, NOT_RECORDED
from treatments.models import ApplicationRecord, RotationWeek
from treatments.rules.units import Measure, Unit, UnitMismatch

# Of a record with its eighty columns these are read.
RECORDS = ApplicationRecord.objects.select_related("lot__product").only(
    "number",
    "planting",
    "amends",
    "void",
    "treated_area_sq_ft",
    "product_name",
    "product_amount",
    "product_unit",
    "applicator_name",
    "uncertified_applicator_name",
    "lot__unit_cost",
    "lot__product__stock_unit",
)


@dataclass(frozen=True, slots=True)
class VisitFigures:
    """What a visit that was made cost, what it is charged, and by which rule."""

    visit: Visit
    day: date
    cost: Cost
    charge: Charge

    def margin(self) -> Decimal | None:
        """Return the charge less the cost, or None while one of them is not known."""
        cost = self.cost.total()
        if cost is None or self.charge.amount is None:
            return None
        return self.charge.amount - cost


def made_between(first: date, last: date) -> QuerySet[Visit]:
    """Return the visits that were made about two dates; zones differ, so a day more on each end."""
    starts = datetime.combine(first - timedelta(days=1), time(), tzinfo=UTC)
    ends = datetime.combine(last + timedelta(days=2), time(), tzinfo=UTC)
    return Visit.objects.filter(
        state=Visit.State.COMPLETED, completed_at__gte=starts, completed_at__lt=ends
    )


def figures_of(
    visits: QuerySet[Visit], first: date | None = None, last: date | None = None
) -> list[VisitFigures]:
    """Return the figures of visits that were made, by the property's day within two dates."""
    loaded = with_all_that_is_reckoned(visits)
    days = [(visit, local_day(visit)) for visit in loaded]
    rates, prices = cost_rates(), price_rules()
    agreed = agreed_prices(visit.course_id for visit, _day in days)
    return [
        _figures(visit, day, rates, prices, agreed)
        for visit, day in days
        if (first is None or first <= day) and (last is None or day <= last)
    ]


def with_all_that_is_reckoned(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Load what costs and charges are reckoned from."""
    return visits.select_related(
        "course__property__client",
        "course__rotation",
        "rotation_week__adjuvant",
        "dispatch__crew",
        "statement_line",
    ).prefetch_related(
        "course__plantings",
        "dispatch__crew__technicians",
        Prefetch("records", RECORDS),
        Prefetch("records__amended_by", RECORDS),
    )


def agreed_prices(courses: Iterable[int]) -> dict[tuple[int, int], tuple[Decimal, Kind]]:
    """Return what clients accepted for the weeks of courses, of two estimates the later one."""
    weeks = EstimateWeek.objects.filter(estimate__course__in=set(courses))
    told = weeks.order_by("estimate__number").values_list(
        "estimate__course", "week", "amount", "kind"
    )
    return {(course, week): (amount, Kind(kind)) for course, week, amount, kind in told}


def price_rules() -> list[charging.PriceRule]:
    """Return all price rules as the rules are given them."""
    return [
        charging.PriceRule(
            key=row.pk,
            by=PricedBy(row.by),
            amount=row.amount,
            from_day=row.from_day,
            until_day=row.until_day,
            client=row.client_id,
            property=row.property_id,
            rotation=row.rotation_id,
        )
        for row in PriceRule.objects.all()
    ]


def cost_rates() -> charging.CostRates:
    """Return what hours and miles cost, as the rules are given it."""
    rows = [(row.of, charging.CostRate(row.amount, row.from_day)) for row in CostRate.objects.all()]
    return charging.CostRates(
        hour=tuple(rate for of, rate in rows if of == CostRate.Of.HOUR),
        mile=tuple(rate for of, rate in rows if of == CostRate.Of.MILE),
    )


def _figures(
    visit: Visit,
    day: date,
    rates: charging.CostRates,
    prices: Sequence[charging.PriceRule],
    agreed: Mapping[tuple[int, int], tuple[Decimal, Kind]],
) -> VisitFigures:
    records = standing_records(visit)
    work = Work(_people(visit, records), visit.started_at, visit.completed_at)
    cost = charging.cost_of(day, work, _drive(visit), _used(visit, records), rates)
    place = visit.course.property
    price, kind = agreed.get((visit.course_id, visit.week), (None, Kind.SERVICE))
    to_charge = ToCharge(
        day=day,
        client=place.client_id,
        property=place.pk,
        rotation=visit.course.rotation_id,
        labour_minutes=cost.labour_minutes,
        area_sq_ft=_area(records),
        product_cost=cost.product_known(),
        agreed=price,
        agreed_kind=kind,
    )
    return VisitFigures(visit, day, cost, charging.charge_of(to_charge, prices))


def _people(visit: Visit, records: Iterable[ApplicationRecord]) -> int | None:
    """Return how many worked: the crew that was sent, else whom the records name."""
    if visit.dispatch is not None:
        sent = len(visit.dispatch.crew.technicians.all())
        if sent:
            return sent
    named = {
        name
        for record in records
        for name in (record.uncertified_applicator_name or record.applicator_name,)
        if name
    }
    return len(named) or None


def _drive(visit: Visit) -> Drive | None:
    if visit.dispatch is None:
        return None
    shares: dict[Hashable, Drive] = charging.drives_of(visit.dispatch.legs)
    return shares.get(visit.pk)


def _area(records: Iterable[ApplicationRecord]) -> Decimal | None:
    """Return the ground that was treated, each planting once; None where a record leaves it out."""
    areas: dict[int, Decimal] = {}
    for record in records:
        if record.treated_area_sq_ft is None:
            return None
        known = areas.get(record.planting_id, Decimal(0))
        areas[record.planting_id] = max(known, record.treated_area_sq_ft)
    return sum(areas.values(), Decimal(0)) if areas else None


def _used(visit: Visit, records: Sequence[ApplicationRecord]) -> Iterable[Used]:
    """Yield what was used of each lot and what it cost."""
    week = visit.rotation_week
    if not records and week.step == RotationWeek.Step.SPRAY:
        yield Used("", None, NOT_RECORDED)
    for record in records:
        yield _used_by(record)
    if records and week.adjuvant is not None:
        yield Used(week.adjuvant.name, None, LOT_NOT_KNOWN)


def _used_by(record: ApplicationRecord) -> Used:
    if record.lot is None:
        return Used(record.product_name, None, LOT_NOT_KNOWN)
    if record.lot.unit_cost is None:
        return Used(record.product_name, None, LOT_HAS_NO_COST)
    try:
        used = Measure(record.product_amount, Unit(record.product_unit))
        amount = used.to(Unit(record.lot.product.stock_unit)).amount
    except (UnitMismatch, ValueError):
        return Used(record.product_name, None, LOT_HAS_NO_COST)
    return Used(record.product_name, Fraction(amount) * Fraction(record.lot.unit_cost))
