"""Writes a plan of several days, in one transaction and only where nothing changed meanwhile."""

from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.courses.moving import follow, fresh, locked
from services.dispatching.drafting import what_was_seen
from services.dispatching.horizons.horizon import Horizon
from services.dispatching.horizons.making import key_of_shift
from services.dispatching.horizons.problem import Problem, problem_of, stock_of, visits_of
from services.dispatching.horizons.settling import Settled, settled
from services.dispatching.writing import write_day
from services.models import Crew, Dispatch, Visit
from services.routes import leave_route
from treatments.models import Lot

TRIES = 3


@dataclass(frozen=True, slots=True)
class HandedOut:
    """A plan of several days that was written, and the days that it changed."""

    settled: Settled
    changed: frozenset[date]


def hand_out(horizon: Horizon, *, by: User | None, now: datetime) -> HandedOut:
    """Plan the days of a horizon and write the plan; sought again where the book changed."""
    for _try in range(TRIES):
        problem = problem_of(horizon, now)
        search = problem.search()
        *_steps, last = search.steps()
        plan = settled(problem, search, last.tours)
        changed = write(plan, by=by, now=now)
        if changed is not None:
            return HandedOut(plan, changed)
    raise ValidationError(
        _("Visits or the store kept changing while the days were planned. Dispatch them again."),
        code="changed_meanwhile",
    )


@transaction.atomic
def write(plan: Settled, *, by: User | None, now: datetime) -> frozenset[date] | None:
    """Write a plan unless what it rests on has changed: None then, else the days it changed."""
    problem = plan.problem
    _one_at_a_time(problem)
    visits = visits_of(problem.horizon)
    if what_was_seen(visits, stock_of(visits, problem.known)) != problem.seen:
        return None
    changed = set(_left_by_those_who_move(plan))
    days = problem.horizon.days()
    changed |= {day for day in days if write_day(plan.days[day], by=by, now=now)}
    empty = Dispatch.objects.filter(day__in=days, visits__isnull=True)
    changed |= set(empty.values_list("day", flat=True))
    empty.delete()
    _let_follow(plan)
    return frozenset(changed)


def _one_at_a_time(problem: Problem) -> None:
    """Hold crews and lots until the transaction ends; SQLite holds the whole database anyway."""
    crews = [crew.pk for crew in problem.crews.values()]
    list(Crew.objects.select_for_update(of=("self",)).filter(pk__in=crews).order_by("pk"))
    list(Lot.objects.select_for_update().filter(pk__in=problem.lots.ids.values()).order_by("pk"))


def _left_by_those_who_move(plan: Settled) -> list[date]:
    """Take visits off the routes that are not written anew, such as those of a crew that is ill."""
    planned = {shift.key for shift in plan.problem.shifts}
    days = []
    for visit in plan.problem.visits.values():
        route = visit.dispatch
        if route is None or visit.state != Visit.State.NEEDS_ACTION:
            continue
        if not plan.problem.horizon.holds(route.day):
            continue
        if key_of_shift(f"{route.crew_id:09}", route.day) not in planned:
            leave_route(visit)
            days.append(route.day)
    return days


def _let_follow(plan: Settled) -> None:
    """Count the later weeks of the courses from the days on which their visits are now."""
    for draft in plan.days.values():
        for route in draft.plan.routes:
            for halt in route.stops:
                visit = plan.problem.visits[int(halt.key)]
                if visit.planned != draft.clock.day and visit.state == Visit.State.NEEDS_ACTION:
                    locked(visit.course)
                    follow(fresh(visit))
