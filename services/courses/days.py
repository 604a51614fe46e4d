"""Reads a rotation and a property as the scheduling rules need them."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from clients.models import Planting, Property
from services.models import Course, Crew, Visit
from services.rules.scheduling import EVERY_WEEKDAY, Step, WorkingDays
from treatments.models import ApplicationRecord, Rotation, RotationWeek


def steps_of(rotation: Rotation) -> list[Step]:
    """Return the weeks of a rotation as steps, in order."""
    weeks = rotation.weeks.select_related("product").order_by("week")
    return [step_of(week) for week in weeks]


def step_of(week: RotationWeek) -> Step:
    """Return one week of a rotation as a step; the label's interval narrows its days."""
    product = week.product
    return Step(
        week=week.week,
        product=str(product.pk) if product else "",
        minimum_days=week.minimum_days,
        maximum_days=week.maximum_days,
        planned_days=week.planned_days,
        label_interval_days=product.minimum_interval_days if product else None,
        at_dusk=week.at_dusk,
    )


def working_days(place: Property) -> WorkingDays:
    """Return the weekdays on which some crew works, and those on which the property lets it in."""
    crews = Crew.objects.filter(retired=False)
    worked = {int(weekday) for crew in crews for weekday in crew.weekdays}
    access = frozenset(window.weekday for window in place.access_windows.all())
    usual = WorkingDays(access_weekdays=access or EVERY_WEEKDAY)
    return replace(usual, closed_weekdays=EVERY_WEEKDAY - worked) if worked else usual


def local_day(visit: Visit) -> date:
    """Return the property's date on which a visit was made, or the day it is planned for."""
    if visit.completed_at is None:
        return visit.planned
    return visit.completed_at.astimezone(visit.course.property.zone()).date()


def last_applied(plantings: Iterable[Planting], place: Property) -> Mapping[str, date]:
    """Return the property's date of the last application of each product on any of the plantings.

    The keys are those of `step_of`.
    """
    done = ApplicationRecord.objects.current().filter(planting__in=list(plantings))
    latest: dict[str, date] = {}
    for product, done_at in done.values_list("product_id", "done_at"):
        day = done_at.astimezone(place.zone()).date()
        latest[str(product)] = max(day, latest.get(str(product), day))
    return latest


def last_use(
    visits: Iterable[Visit], week: int, product: str, applied: Mapping[str, date]
) -> date | None:
    """Return the day on which a product was or will be used last before a week, or None.

    applied: as `last_applied` gives it
    """
    days = [
        local_day(visit)
        for visit in visits
        if visit.week < week
        and visit.state != Visit.State.CANCELLED
        and step_of(visit.rotation_week).product == product
    ]
    if product in applied:
        days.append(applied[product])
    return max(days, default=None)


def visits_in_order(course: Course) -> list[Visit]:
    """Return the visits of a course, week after week, with their products."""
    visits = course.visits.select_related(
        "rotation_week__product", "course__property", "dispatch"
    ).order_by("rotation_week__week")
    return list(visits)
