"""Moves visits within their days, and lets the later weeks of a course follow."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from services.asking import answer_by_move
from services.courses.days import (
    last_applied,
    last_use,
    local_day,
    step_of,
    visits_in_order,
    working_days,
)
from services.models import Course, Visit
from services.routes import leave_route
from services.rules.scheduling import PlannedVisit, WorkingDays, next_window
from services.telling.notices import tell_again_where_told
from treatments.rules.findings import Finding


@dataclass(frozen=True, slots=True)
class MovedVisit:
    """A visit whose planned day changed, and what there is to say of it."""

    visit: Visit
    was: date
    now: date
    findings: tuple[Finding, ...] = ()


@transaction.atomic
def move_visit(visit: Visit, *, day: date, by: User | None, version: int) -> list[MovedVisit]:
    """Plan a visit for another of its days; the later weeks of its course follow.

    version: the version that was shown; where the visit has changed since, the code is "stale"
    Returns what moved, the visit first; nothing when it is planned for that day already.
    """
    locked(visit.course)
    visit = fresh(visit)
    if visit.version != version:
        raise ValidationError(
            _("The visit was changed meanwhile. Look at it again, then move it."), code="stale"
        )
    if visit.planned == day and (visit.dispatch is None or visit.dispatch.day == day):
        return []
    refuse_day(visit, day)
    window = PlannedVisit(visit.week, visit.earliest, day, visit.latest)
    moved = [*keep_days(visit, window), *follow(visit)]
    answer_by_move(visit, by=by, at=timezone.now())
    return moved


@transaction.atomic
def shift_after(visit: Visit) -> list[MovedVisit]:
    """Count the days of the later visits from the day on which a visit was made."""
    locked(visit.course)
    return follow(fresh(visit))


def follow(visit: Visit) -> list[MovedVisit]:
    """Count the days of the open visits after one from it, week after week; return what moved.

    A visit that has a crew keeps its day as long as the day is still allowed.
    """
    course = visit.course
    place = course.property
    visits = visits_in_order(course)
    applied = last_applied(course.plantings.all(), place)
    working = working_days(place)
    moved: list[MovedVisit] = []
    for earlier, later in pairwise(visits):
        if later.week > visit.week and later.state == Visit.State.NEEDS_ACTION:
            window = _window(later, earlier, visits, applied, working)
            moved += keep_days(later, _with_its_crew(later, window))
    return moved


def refuse_day(visit: Visit, day: date) -> None:
    """Raise ValidationError when a visit may not be planned for a day."""
    if visit.state != Visit.State.NEEDS_ACTION:
        raise ValidationError(
            _("The visit is %(state)s and does not move."),
            params={"state": visit.get_state_display()},
            code="not_open",
        )
    if not visit.earliest <= day <= visit.latest:
        raise ValidationError(
            _("The visit lies between %(earliest)s and %(latest)s."),
            params={"earliest": visit.earliest.isoformat(), "latest": visit.latest.isoformat()},
            code="outside_days",
        )
    lawful = lawful_from(visit)
    if lawful and day < lawful:
        product = visit.rotation_week.sprayed_product()
        raise ValidationError(
            _("By its label %(product)s may not be applied again before %(lawful)s."),
            params={"product": product.name, "lawful": lawful.isoformat()},
            code="label_interval",
        )


def lawful_from(visit: Visit) -> date | None:
    """Return the first day that the label's interval leaves a visit, or None without one."""
    step = step_of(visit.rotation_week)
    if step.label_interval_days is None:
        return None
    course = visit.course
    applied = last_applied(course.plantings.all(), course.property)
    last = last_use(visits_in_order(course), visit.week, step.product, applied)
    return last and last + timedelta(days=step.label_interval_days)


def locked(course: Course) -> Course:
    """Return a course whose days nobody else moves before the transaction ends."""
    return Course.objects.select_for_update().get(pk=course.pk)


def fresh(visit: Visit) -> Visit:
    """Return a visit as it stands now, with its course and product."""
    return Visit.objects.select_related(
        "course__property__client", "rotation_week__product", "dispatch"
    ).get(pk=visit.pk)


def _window(
    visit: Visit,
    earlier: Visit,
    visits: Iterable[Visit],
    applied: Mapping[str, date],
    working: WorkingDays,
) -> PlannedVisit:
    step = step_of(visit.rotation_week)
    last = last_use(visits, visit.week, step.product, applied)
    if last is None:
        step = replace(step, label_interval_days=None)
    return next_window(local_day(earlier), step, working, last_of_product=last)


def _with_its_crew(visit: Visit, window: PlannedVisit) -> PlannedVisit:
    """Return the window, in which a visit that has a crew keeps its day while that is allowed."""
    if visit.dispatch and window.earliest <= visit.planned <= window.latest:
        return replace(window, planned=visit.planned)
    return window


def keep_days(visit: Visit, window: PlannedVisit) -> list[MovedVisit]:
    """Write the days of a visit where they changed, and tell what moved.

    A visit whose day changes leaves the route of its crew, and who was told is told again.
    """
    days = {"earliest": window.earliest, "planned": window.planned, "latest": window.latest}
    was = visit.planned
    if all(getattr(visit, name) == day for name, day in days.items()):
        return []
    for name, day in days.items():
        setattr(visit, name, day)
    Visit.objects.filter(pk=visit.pk).update(**days, version=F("version") + 1)
    if visit.dispatch and visit.dispatch.day != window.planned:
        leave_route(visit)
    if window.planned == was:
        return []
    tell_again_where_told(visit, now=timezone.now())
    return [MovedVisit(visit, was, window.planned, window.findings)]
