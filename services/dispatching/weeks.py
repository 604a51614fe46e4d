"""Hands out a week: each visit on its planned day, or on another of its days that has room."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User

from services.courses.days import working_days
from services.dispatching.days import DayPlan, LeftOutVisit, dispatch_day, place_on
from services.dispatching.reading import today_at_yard, visits_to_plan
from services.models import Visit
from services.rules.scheduling import WorkingDays, preferred_day

# The reasons to stay for which another day may serve.
OF_THE_DAY = frozenset(
    {
        "no-room",
        "no-room-unless",
        "detour-too-long",
        "window-outside-shifts",
        "no-window",
        "hours-too-short",
        "no-access-that-day",
        "no-access-at-dusk",
        "access-only-in-the-dark",
        "no-crew-with-certificate",
        "no-crew-with-equipment",
        "no-crew-with-all",
    }
)


def dispatch_week(
    *, monday: date, visit_ids: Sequence[int], by: User | None, now: datetime
) -> list[DayPlan]:
    """Give the chosen visits to crews, each on its planned day or, where that has no room, another.

    Only days from today to the Sunday of the week on which the visit is allowed are taken; one
    that is late goes today.  Dispatching the same again changes nothing.
    """
    sunday, today = monday + timedelta(days=6), today_at_yard(now)
    first = max(monday, today)
    by_day: dict[date, list[Visit]] = defaultdict(list)
    for visit in visits_to_plan(visit_ids):
        day = _first_day(visit, first, sunday)
        if day is not None:
            by_day[day].append(visit)
    plans = [
        dispatch_day(day=day, visits=by_day[day], by=by, now=now)
        for day in sorted(by_day)
        if first <= day <= sunday
    ]
    placed: set[int] = set()
    for left in [left for plan in plans for left in plan.left_out]:
        plan = _on_another_day(left, first, sunday, by, now)
        if plan is not None:
            plans.append(plan)
            placed.add(left.visit.pk)
    return _last_of_each_day(plans, placed)


def _first_day(visit: Visit, first: date, sunday: date) -> date | None:
    """Return the day to try first, or None where the week has no day for the visit."""
    if visit.dispatch is not None:
        return visit.dispatch.day
    if first <= visit.planned <= sunday:
        return visit.planned
    if visit.latest < first:
        return first
    return _best_day(visit, max(first, visit.earliest), min(sunday, visit.latest))


def _best_day(visit: Visit, first: date, last: date) -> date | None:
    return preferred_day(first, visit.planned, last, working_days(visit.course.property))


def _on_another_day(
    left: LeftOutVisit, first: date, sunday: date, by: User | None, now: datetime
) -> DayPlan | None:
    """Try the other days of a visit, those that let in first; None where none has room."""
    if left.reason.code not in OF_THE_DAY:
        return None
    visit = left.visit
    working = working_days(visit.course.property)
    days = _days(max(first, visit.earliest), min(sunday, visit.latest), working)
    for day in sorted(days, key=lambda each: (not working.let_in(each), each)):
        plan = place_on(day, visit, by=by, now=now) if day != visit.planned else None
        if plan is not None:
            return plan
    return None


def _days(first: date, last: date, working: WorkingDays) -> Iterator[date]:
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        if working.are_open(day):
            yield day


def _last_of_each_day(plans: Iterable[DayPlan], placed: set[int]) -> list[DayPlan]:
    """Return the days as they stand at last; a visit that found another day is not left out."""
    days: dict[date, DayPlan] = {}
    for plan in plans:
        earlier = days.get(plan.day)
        left_out = (earlier or plan).left_out
        days[plan.day] = replace(
            plan,
            left_out=tuple(left for left in left_out if left.visit.pk not in placed),
            is_changed=plan.is_changed or bool(earlier and earlier.is_changed),
        )
    return [days[day] for day in sorted(days)]
