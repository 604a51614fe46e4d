"""Puts visits off and takes that back; a hold is kept as evidence after it is lifted."""

from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.courses.days import steps_of, visits_in_order, working_days
from services.courses.moving import MovedVisit, follow, fresh, keep_days, locked
from services.models import Hold, Visit
from services.routes import leave_route
from services.rules.scheduling import PlannedVisit, preferred_day, shift_after_hold


@dataclass(frozen=True, slots=True)
class Lifted:
    """A hold that is over, and the visits whose days moved with it."""

    hold: Hold
    moved: tuple[MovedVisit, ...] = ()


@transaction.atomic
def hold_visit(
    visit: Visit, *, reason: Hold.Reason, note: str = "", by: AbstractUser, at: datetime
) -> Hold:
    """Put a visit off with a reason; one that is held already keeps its hold.

    It leaves the route of its crew, unless it is under way.
    """
    locked(visit.course)
    visit = fresh(visit)
    if not visit.is_open():
        raise ValidationError(
            _("The visit is %(state)s; there is nothing to put off."),
            params={"state": visit.get_state_display()},
            code="not_open",
        )
    standing = visit.holds.filter(lifted_at__isnull=True).first()
    if standing is not None:
        return standing
    hold = Hold(visit=visit, reason=reason, note=note, set_by=by, set_at=at)
    hold.full_clean()
    hold.save()
    if visit.state == Visit.State.NEEDS_ACTION:
        leave_route(visit)
    return hold


@transaction.atomic
def lift_hold(hold: Hold, *, by: AbstractUser, at: datetime) -> Lifted:
    """Lift a hold and plan its visit anew, where its day has passed; tell what moved.

    The later weeks move only when the latest day of the visit has passed.
    """
    locked(hold.visit.course)
    standing = Hold.objects.filter(pk=hold.pk, lifted_at__isnull=True)
    if not standing.update(lifted_by=by, lifted_at=at):
        return Lifted(Hold.objects.get(pk=hold.pk))
    visit = fresh(hold.visit)
    today = at.astimezone(visit.course.property.zone()).date()
    moved = _planned_anew(visit, today) if visit.state == Visit.State.NEEDS_ACTION else []
    return Lifted(Hold.objects.get(pk=hold.pk), tuple(moved))


def _planned_anew(visit: Visit, today: date) -> list[MovedVisit]:
    if visit.planned >= today:
        return []
    if visit.latest < today:
        return _pushed_past(visit, today)
    working = working_days(visit.course.property)
    first = max(visit.earliest, today)
    day = preferred_day(first, first, visit.latest, working) or visit.latest
    return keep_days(visit, PlannedVisit(visit.week, visit.earliest, day, visit.latest))


def _pushed_past(visit: Visit, today: date) -> list[MovedVisit]:
    """Plan a visit after its latest day, and say so; the later weeks follow it."""
    visits = visits_in_order(visit.course)
    days = [PlannedVisit(v.week, v.earliest, v.planned, v.latest) for v in visits]
    steps = steps_of(visit.course.rotation)
    working = working_days(visit.course.property)
    shifted = shift_after_hold(days, steps, visit.week, today, working)
    pushed = next(window for window in shifted if window.week == visit.week)
    return [*keep_days(visit, pushed), *follow(visit)]
