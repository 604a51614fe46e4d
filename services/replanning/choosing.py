"""Writes the offer that a person chose, if it still holds; nothing has changed before."""

import hashlib
from collections.abc import Iterable
from datetime import date, datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.dispatching.horizons import Problem, Settled, problem_of, settled, write
from services.models import Planning, Visit
from services.replanning.offers import CameBetween, horizon_of, offer_of
from services.rules.plans import ImpossiblePlan
from services.telling.notices import tell_again

PLACE = ("crew", "day")


def choose(planning: Planning, *, offer: str, by: User | None, now: datetime) -> bool:
    """Let one of the offers become the plan; say whether it does so now, for twice does it once.

    Who had been told of another day is to be told again: the notice is written down with the plan.
    Raises ValidationError with the code "stale" where the book has changed since.
    """
    planning = Planning.objects.get(pk=planning.pk)
    if planning.chosen:
        return False
    kept = next((each for each in planning.offers if each["kind"] == offer), None)
    if kept is None:
        raise ValidationError(_("There is no such offer."), code="no_offer")
    plan = _as_offered(planning, kept, now)
    moved = [row["visit"] for row in kept["rows"] if row["to_tell"] and row["change"] == "day"]
    return _written(planning, offer, plan, moved, by, now)


def between_of(planning: Planning) -> CameBetween:
    """Return what came between, as a planning keeps it."""
    absent = planning.arguments.get("absent", [])
    return CameBetween(
        planning.first_day,
        planning.last_day,
        frozenset((crew, date.fromisoformat(day)) for crew, day in absent),
        frozenset(planning.arguments.get("chosen", [])),
    )


def digest_of(problem: Problem) -> str:
    """Return a digest of what a plan rests on, to be compared when it is chosen."""
    return hashlib.sha256(repr(problem.seen).encode()).hexdigest()


def _as_offered(planning: Planning, kept: dict, now: datetime) -> Settled:
    """Return the plan of an offer as it is now, or raise where it is not what was offered."""
    problem = problem_of(horizon_of(between_of(planning), kept["kind"]), now)
    search = problem.search()
    try:
        plan = settled(problem, search, search.tours_of(kept["tours"]))
    except ImpossiblePlan as impossible:
        raise _stale() from impossible
    again = offer_of(kept["kind"], plan, kept["tours"])
    if digest_of(problem) != planning.seen or _assigned(again) != _assigned(kept):
        raise _stale()
    return plan


@transaction.atomic
def _written(
    planning: Planning,
    offer: str,
    plan: Settled,
    moved: Iterable[int],
    by: User | None,
    now: datetime,
) -> bool:
    waiting = Planning.objects.filter(pk=planning.pk, chosen="", done_at__isnull=False)
    if not waiting.update(chosen=offer, chosen_at=now):
        return False
    if write(plan, by=by, now=now) is None:
        raise _stale()
    for visit in Visit.objects.with_all_that_is_shown().filter(pk__in=list(moved)):
        tell_again(visit, now=now)
    return True


def _assigned(offer: dict) -> dict[int, tuple | None]:
    return {
        row["visit"]: row["after"] and tuple(row["after"][name] for name in PLACE)
        for row in offer["rows"]
    }


def _stale() -> ValidationError:
    return ValidationError(
        _("The book has changed since these plans were made. Let them be made again."),
        code="stale",
    )
