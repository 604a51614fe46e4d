"""Hands out a day: who goes where, in what order, with what on the truck."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.courses.moving import follow, fresh, locked
from services.dispatching.drafting import (
    Draft,
    draft_day,
    is_on_route,
    stock_for,
    visits_of_draft,
    what_was_seen,
)
from services.dispatching.reading import today_at_yard
from services.dispatching.writing import write_day
from services.models import Crew, Dispatch, Visit
from treatments.models import Lot
from treatments.rules.findings import Finding

TRIES = 3


@dataclass(frozen=True, slots=True)
class LeftOutVisit:
    """A visit that no crew makes on a day, and why."""

    visit: Visit
    reason: Finding


@dataclass(frozen=True, slots=True)
class DayPlan:
    """A day as it stands after it was dispatched; is_changed says whether that changed it."""

    day: date
    dispatches: tuple[Dispatch, ...]
    left_out: tuple[LeftOutVisit, ...]
    is_changed: bool


def dispatch_day(*, day: date, visits: Iterable[Visit], by: User | None, now: datetime) -> DayPlan:
    """Give visits to the crews of a day, with hours and loads, and keep why any is left out.

    Those that have a crew on the day are planned again with them, those that have begun stay where
    they are.  Dispatching the same again changes nothing.  Routes are sought before the
    transaction; when visits or stock change meanwhile they are sought again.
    """
    if day < today_at_yard(now):
        raise ValidationError(_("A day that has passed is not dispatched."), code="past")
    chosen = [visit.pk for visit in visits]
    if not _asks_for_more(day, chosen):
        return DayPlan(day, dispatches_of(day), (), is_changed=False)
    for _try in range(TRIES):
        draft = draft_day(day, chosen, now)
        is_changed = _written(draft, by, now)
        if is_changed is not None:
            return _as_it_stands(draft, is_changed=is_changed)
    raise ValidationError(
        _("Visits or the store kept changing while the day was planned. Dispatch it again."),
        code="changed_meanwhile",
    )


def dispatches_of(day: date) -> tuple[Dispatch, ...]:
    """Return the dispatches of a day with what is shown, in a fixed number of queries."""
    dispatches = Dispatch.objects.filter(day=day).select_related("crew__yard", "crew__truck")
    return tuple(
        dispatches.prefetch_related(
            "load__lot__product", "visits__course__property__client", "visits__rotation_week"
        )
    )


def _asks_for_more(day: date, chosen: Iterable[int]) -> bool:
    """Say whether any of the visits is to be made and has no crew on the day yet."""
    open_visits = Visit.objects.filter(pk__in=chosen, state=Visit.State.NEEDS_ACTION)
    return any(not is_on_route(visit, day) for visit in open_visits.select_related("dispatch"))


@transaction.atomic
def _written(draft: Draft, by: User | None, now: datetime) -> bool | None:
    """Write a draft unless what it rests on has changed: None then, else whether it changed."""
    _one_at_a_time(draft)
    day = draft.clock.day
    visits = visits_of_draft(day, draft.visits, draft.untouched)
    lots = stock_for(day, visits, draft.takes, today_at_yard(now))
    if what_was_seen(visits, lots) != draft.seen:
        return None
    is_changed = write_day(draft, by=by, now=now)
    for visit in visits:
        if visit.pk not in draft.left_out and visit.planned != day:
            locked(visit.course)
            follow(fresh(visit))
    return is_changed


def _one_at_a_time(draft: Draft) -> None:
    """Hold crews and lots until the transaction ends; SQLite holds the whole database anyway."""
    crews = [crew.pk for crew in draft.crews.values()]
    list(Crew.objects.select_for_update(of=("self",)).filter(pk__in=crews).order_by("pk"))
    list(Lot.objects.select_for_update().filter(pk__in=draft.lots.ids.values()).order_by("pk"))


def _as_it_stands(draft: Draft, *, is_changed: bool) -> DayPlan:
    day = draft.clock.day
    stay = tuple(LeftOutVisit(draft.visits[pk], why) for pk, why in draft.left_out.items())
    return DayPlan(day, dispatches_of(day), stay, is_changed)
