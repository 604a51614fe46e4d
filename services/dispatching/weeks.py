"""Hands out a week: all chosen visits together, each on one of the days on which it is allowed."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User

from services.dispatching.days import DayPlan, LeftOutVisit, dispatches_of
from services.dispatching.horizons import HandedOut, Horizon, hand_out
from services.dispatching.reading import today_at_yard, visits_to_plan
from services.models import Visit

Waves = list[frozenset[int]]


def dispatch_week(
    *, monday: date, visit_ids: Sequence[int], by: User | None, now: datetime
) -> list[DayPlan]:
    """Give the chosen visits of a week to crews, all together over the days they are allowed on.

    A day away from the planned one counts; a visit that has a crew, or of which somebody was told,
    keeps its day; one that is late goes on the first day.  Where two weeks of a course are chosen,
    the later is planned when the day of the earlier is known.  Dispatching the same again changes
    nothing.
    """
    sunday, today = monday + timedelta(days=6), today_at_yard(now)
    first = max(monday, today)
    if first > sunday or not _ask_for_more(visit_ids):
        return _as_they_stand(visit_ids, first, sunday)
    done = [hand_out(Horizon(first, sunday, wave), by=by, now=now) for wave in waves_of(visit_ids)]
    return _day_plans(done, set(visit_ids))


def waves_of(visit_ids: Iterable[int]) -> Waves:
    """Return the chosen visits by how many earlier weeks of their course are chosen with them."""
    visits = Visit.objects.filter(pk__in=list(visit_ids), state=Visit.State.NEEDS_ACTION)
    waves: dict[int, set[int]] = {}
    seen: dict[int, int] = {}
    for pk, course in visits.order_by("rotation_week__week").values_list("pk", "course"):
        place = seen[course] = seen.get(course, -1) + 1
        waves.setdefault(place, set()).add(pk)
    return [frozenset(waves[place]) for place in sorted(waves)]


def _ask_for_more(visit_ids: Iterable[int]) -> bool:
    """Say whether any of the visits is to be made and has no crew yet."""
    waiting = Visit.objects.filter(state=Visit.State.NEEDS_ACTION, dispatch__isnull=True)
    return waiting.filter(pk__in=list(visit_ids)).exists()


def _as_they_stand(visit_ids: Iterable[int], first: date, last: date) -> list[DayPlan]:
    days = Visit.objects.filter(pk__in=list(visit_ids), dispatch__day__range=(first, last))
    found = days.order_by("dispatch__day").values_list("dispatch__day", flat=True).distinct()
    return [DayPlan(day, dispatches_of(day), (), is_changed=False) for day in found]


def _day_plans(done: Sequence[HandedOut], chosen: set[int]) -> list[DayPlan]:
    """Return the days on which chosen visits are, or would have been, as they stand now."""
    left_out = {pk: why for each in done for pk, why in each.settled.left_out().items()}
    changed = {day for each in done for day in each.changed}
    visits = {visit.pk: visit for visit in visits_to_plan({*chosen, *left_out})}
    horizon = done[-1].settled.problem.horizon
    stay: dict[date, list[LeftOutVisit]] = {}
    for pk in left_out:
        if visits[pk].dispatch is None:
            day = min(max(visits[pk].planned, horizon.first), horizon.last)
            stay.setdefault(day, []).append(LeftOutVisit(visits[pk], left_out[pk]))
    routes = [visit.dispatch.day for visit in visits.values() if visit.dispatch]
    days = {*stay, *changed, *(day for day in routes if horizon.holds(day))}
    return [
        DayPlan(day, dispatches_of(day), tuple(stay.get(day, ())), is_changed=day in changed)
        for day in sorted(days)
    ]
