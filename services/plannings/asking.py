"""Asks for a plan: of a big week, or of days in which something came between."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.dispatching.reading import today_at_yard
from services.dispatching.weeks import waves_of
from services.models import Crew, Planning, Visit
from services.plannings.by_yard import by_yard
from services.plannings.ringing import ring

MOST_AT_ONCE = 40  # above so many visits a week is planned while nobody waits; our own choice
LOOKED_AHEAD = timedelta(days=6)  # how long after the lost day visits may move; our own choice


@transaction.atomic
def ask_week(
    *, monday: date, visit_ids: Iterable[int], by: User | None, now: datetime
) -> list[Planning]:
    """Ask for a week to be dispatched in steps; asked again while it is open, it is the same.

    A big week of several yards is planned yard by yard, at once where workers are free.
    """
    sunday, today = monday + timedelta(days=6), today_at_yard(now)
    if sunday < today:
        raise ValidationError(_("A week that has passed is not dispatched."), code="past")
    first = max(monday, today)
    return [
        _asked(Planning.Kind.WEEK, first, sunday, _week_of(yard, ids), by, now)
        for yard, ids in by_yard(visit_ids, first).items()
    ]


def _week_of(yard: int | None, visit_ids: list[int]) -> dict[str, object]:
    waves = [sorted(wave) for wave in waves_of(visit_ids)]
    return {"waves": waves} if yard is None else {"waves": waves, "yard": yard}


@transaction.atomic
def ask_replan(
    *,
    lost_from: date,
    lost_until: date,
    crews: Iterable[Crew],
    with_others: bool,
    by: User | None,
    now: datetime,
) -> Planning:
    """Ask for offers of days planned anew, from today to some days after the last that is lost.

    crews: those that are not there from the first lost day to the last; none where nothing is lost
    with_others: whether visits that have no crew on these days are to get one as well
    """
    today = today_at_yard(now)
    if lost_until < today or lost_until < lost_from:
        raise ValidationError(_("Choose days from today on, the first before the last."))
    last = lost_until + LOOKED_AHEAD
    days = [lost_from + timedelta(days=n) for n in range((lost_until - lost_from).days + 1)]
    absent = [[crew.pk, day.isoformat()] for crew in crews for day in days if day >= today]
    chosen = sorted(_others(today, last)) if with_others else []
    arguments = {"absent": sorted(absent), "chosen": chosen}
    return _asked(Planning.Kind.REPLAN, today, last, arguments, by, now)


def is_small(planning: Planning) -> bool:
    """Say whether so few visits are planned that a person may wait for it."""
    on_routes = Visit.objects.filter(
        dispatch__day__range=(planning.first_day, planning.last_day)
    ).count()
    return on_routes + len(planning.arguments.get("chosen", [])) <= MOST_AT_ONCE


def stop(planning: Planning, *, at: datetime) -> bool:
    """Ask for the search to end with what it has; say whether it was still open."""
    waiting = Planning.objects.open().filter(pk=planning.pk, stopped_at__isnull=True)
    return bool(waiting.update(stopped_at=at))


def _others(first: date, last: date) -> set[int]:
    """Return the ids of visits planned in some days that have no crew and are not held.

    Of a course it is the next week alone: the days of a later one follow from it.
    """
    waiting = Visit.objects.open().order_by("course", "rotation_week__week")
    next_weeks: dict[int, int] = {}
    for pk, course in waiting.values_list("pk", "course"):
        next_weeks.setdefault(course, pk)
    others = Visit.objects.filter(
        pk__in=next_weeks.values(),
        state=Visit.State.NEEDS_ACTION,
        dispatch__isnull=True,
        planned__range=(first, last),
    )
    held = Visit.objects.held().values("pk")
    return set(others.exclude(pk__in=held).values_list("pk", flat=True))


def _asked(
    kind: str, first: date, last: date, arguments: dict, by: User | None, now: datetime
) -> Planning:
    days = {"first_day": first, "last_day": last}
    same = Planning.objects.open().filter(kind=kind, arguments=arguments, **days).first()
    if same is not None:
        return same
    row = Planning(kind=kind, arguments=arguments, asked_by=by, asked_at=now, **days)
    row.full_clean()
    row.save()
    ring(row.pk)
    return row
