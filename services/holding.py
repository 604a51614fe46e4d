"""Puts visits off and takes that back; a hold is kept as evidence after it is lifted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.courses.days import steps_of, visits_in_order, working_days
from services.courses.moving import MovedVisit, follow, fresh, keep_days, locked
from services.journaling import journal_hold, journal_lift
from services.models import Hold, Hook, Visit
from services.routes import leave_route
from services.rules.scheduling import PlannedVisit, preferred_day, shift_after_hold
from services.telling.hooks import announce


@dataclass(frozen=True, slots=True)
class Lifted:
    """A hold that is over, and the visits whose days moved with it."""

    hold: Hold
    moved: tuple[MovedVisit, ...] = ()


@dataclass(frozen=True, slots=True)
class Held:
    """A hold that was set, and the visits whose days moved with it."""

    hold: Hold
    moved: tuple[MovedVisit, ...] = ()


@transaction.atomic
def hold_visit(
    visit: Visit,
    *,
    reason: Hold.Reason,
    note: str = "",
    by: User,
    at: datetime,
    now: datetime | None = None,
) -> Hold:
    """Put a visit off with a reason; one that is held already keeps its hold.

    It leaves the route of its crew, unless it is under way.
    now: when the book takes it, if later than it was set
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
    journal_hold(hold, now or at)
    told = {"visit": visit.pk, "hold": hold.pk}
    announce(Hook.Event.VISIT_HELD, told, once=str(hold.pk), at=now or at)
    return hold


@transaction.atomic
def hold_until(
    visit: Visit,
    *,
    reason: Hold.Reason,
    note: str = "",
    not_before: date,
    by: User,
    at: datetime,
) -> Held:
    """Put a visit off until a day, with a reason; the later weeks follow as intervals ask.

    It is planned for the first day from that one on which it may be; the hold stands until a
    person lifts it.
    """
    hold = hold_visit(visit, reason=reason, note=note, by=by, at=at)
    visit = fresh(visit)
    if visit.state != Visit.State.NEEDS_ACTION or not_before <= visit.planned:
        return Held(hold)
    return Held(hold, tuple(_pushed_past(visit, not_before)))


def days_after_hold(visit: Visit, not_before: date) -> list[tuple[PlannedVisit, PlannedVisit]]:
    """Return the open weeks that a hold until a day would move: as they are, and as they would be.

    Nothing is written.
    """
    visits = visits_in_order(visit.course)
    days = _as_planned(visits)
    steps, working = steps_of(visit.course.rotation), working_days(visit.course.property)
    shifted = shift_after_hold(days, steps, visit.week, not_before, working)
    waiting = {each.week for each in visits if each.state == Visit.State.NEEDS_ACTION}
    pairs = zip(days, shifted, strict=True)
    return [(was, now) for was, now in pairs if was.week in waiting and was.planned != now.planned]


@transaction.atomic
def lift_hold(hold: Hold, *, by: User, at: datetime) -> Lifted:
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
    lifted = Hold.objects.get(pk=hold.pk)
    journal_lift(lifted, at)
    return Lifted(lifted, tuple(moved))


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
    days = _as_planned(visits_in_order(visit.course))
    steps = steps_of(visit.course.rotation)
    working = working_days(visit.course.property)
    shifted = shift_after_hold(days, steps, visit.week, today, working)
    pushed = next(window for window in shifted if window.week == visit.week)
    return [*keep_days(visit, pushed), *follow(visit)]


def _as_planned(visits: Iterable[Visit]) -> list[PlannedVisit]:
    return [PlannedVisit(v.week, v.earliest, v.planned, v.latest) for v in visits]
