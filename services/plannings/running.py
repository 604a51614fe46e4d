"""Works on a plan in steps, each kept: a killed worker loses one step, and no work is done twice.

A worker holds the row under a lease that each step renews.  When it is killed the lease runs out,
and the next one goes on from the tours that were kept.
"""

from datetime import datetime, timedelta
from time import monotonic

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext_noop

from services.dispatching.horizons import Horizon, Problem, problem_of, settled, write
from services.models import Planning, Visit
from services.plannings.ringing import ring
from services.replanning.choosing import between_of, digest_of
from services.replanning.offers import horizon_of, offer_of, tours_as_they_are
from services.rules.plans import ImpossiblePlan
from services.rules.routing import Search, Step
from services.rules.routing.greedy import Tours

LEASE = timedelta(minutes=6)  # longer than a task may run
MOST_ATTEMPTS = 5
MOST_SECONDS = 200  # of search in all; below what a task may run
TRIES = 10  # of writing a plan, while others take from the same store; what was sought is kept
ENDED_WITHOUT_REASON = gettext_noop("It was tried five times and ended each time unforeseen.")
KEPT_CHANGING = gettext_noop("Visits or the store kept changing while the days were planned.")


class TakenOver(RuntimeError):
    """Another worker has the row in hand, as this one's lease had run out."""


def run_planning(planning_id: int, *, now: datetime | None = None) -> bool:
    """Plan what a row asks for, unless another does or it is done; say whether it was done now."""
    row = claim(planning_id, now=now or timezone.now())
    if row is None:
        return False
    work = _dispatch_week if row.kind == Planning.Kind.WEEK else _make_offers
    try:
        work(row, now, monotonic() + MOST_SECONDS)
    except TakenOver:
        return False
    except (ValidationError, ImpossiblePlan) as refusal:
        reasons = refusal.messages if isinstance(refusal, ValidationError) else [str(refusal)]
        _change(row, failed_at=timezone.now(), leased_until=None, last_error=" ".join(reasons))
        return False
    return True


def claim(planning_id: int, *, now: datetime) -> Planning | None:
    """Take a row into one's own hand; None where another has it or nothing is due."""
    due = Planning.objects.due_at(now).filter(pk=planning_id, attempts__lt=MOST_ATTEMPTS)
    taken = due.update(leased_until=now + LEASE, attempts=F("attempts") + 1)
    return Planning.objects.get(pk=planning_id) if taken else None


def sweep_plannings(now: datetime) -> int:
    """Ring for every row that is due, and give up those that were tried enough; return how many."""
    due = Planning.objects.due_at(now)
    given_up = due.filter(attempts__gte=MOST_ATTEMPTS)
    given_up.update(failed_at=now, leased_until=None, last_error=ENDED_WITHOUT_REASON)
    waiting = list(due.values_list("pk", flat=True))
    for planning_id in waiting:
        ring(planning_id)
    return len(waiting)


def _dispatch_week(row: Planning, now: datetime | None, until: float) -> None:
    """Dispatch one part of a week after the other: later weeks of a course come after earlier."""
    waves = row.arguments["waves"]
    while row.part < len(waves) and not (row.part and _is_stopped(row)):
        chosen, yard = frozenset(waves[row.part]), row.arguments.get("yard")
        horizon = Horizon(row.first_day, row.last_day, chosen, yard=yard)
        for _try in range(TRIES):
            if _is_part_written(row, horizon, now or timezone.now(), until):
                break
        else:
            raise ValidationError(KEPT_CHANGING, code="changed_meanwhile")
        row.refresh_from_db()
    _change(row, done_at=timezone.now(), leased_until=None, last_error="")


def _is_part_written(row: Planning, horizon: Horizon, now: datetime, until: float) -> bool:
    problem = problem_of(horizon, now)
    search = problem.search()
    plan = settled(problem, search, _sought(row, search, f"{row.part}", until))
    with transaction.atomic():
        if write(plan, by=row.asked_by, now=now) is None:
            return False
        out = Visit.objects.filter(pk__in=plan.left_out(), dispatch__isnull=True).count()
        columns = {"part": row.part + 1, "step": 0, "tours": {}}
        _change(row, **columns, without_crew=row.without_crew + out)
    return True


def _make_offers(row: Planning, now: datetime | None, until: float) -> None:
    """Make the offers of days planned anew; nothing is written but the row."""
    now = now or timezone.now()
    between = between_of(row)
    as_it_is = tours_as_they_are(between)
    offers = []
    for kind in Planning.Offer.values:
        problem = problem_of(horizon_of(between, kind), now)
        search = problem.search()
        tours = search.inserted(search.tours_of(as_it_is))
        if kind == Planning.Offer.LOCKED:
            tours = _sought(row, search, kind, until, start=tours)
        if kind == Planning.Offer.FREE:
            tours = _sought(row, search, kind, until)
        offers.append(_offer(kind, problem, search, tours))
    columns = {"offers": offers, "seen": digest_of(problem), "tours": {}}
    _change(row, **columns, done_at=timezone.now(), leased_until=None, last_error="")


def _offer(kind: str, problem: Problem, search: Search, tours: Tours) -> dict:
    plan = settled(problem, search, tours)
    return offer_of(kind, plan, dict(plan.tours))


def _sought(
    row: Planning, search: Search, what: str, until: float, start: Tours | None = None
) -> Tours:
    """Return the best tours of a search that is kept step by step and may be stopped.

    what: for which part of the row it is, so that only tours of the same part are taken up
    until: when the search ends with what it has, as `monotonic` tells it
    """
    is_same = row.tours.get("of") == what
    done = row.step if is_same else 0
    if is_same:
        start = search.tours_of(row.tours["shifts"])
    tours: Tours = {}
    for step in search.steps(start, done):
        tours = step.tours
        _keep(row, step, {"of": what, "shifts": search.keys_of(tours)})
        if _is_stopped(row) or monotonic() > until:
            break
    return tours


def _keep(row: Planning, step: Step, tours: dict) -> None:
    """Keep how far the search is, and hold the row for as long again."""
    columns = {"step": step.number, "steps": step.of, "tours": tours}
    _change(row, **columns, leased_until=timezone.now() + LEASE)
    row.step, row.tours = step.number, tours


def _is_stopped(row: Planning) -> bool:
    return Planning.objects.filter(pk=row.pk, stopped_at__isnull=False).exists()


def _change(row: Planning, **columns: object) -> None:
    """Change the row while this attempt still holds it; raise TakenOver where it does not."""
    ours = Planning.objects.open().filter(pk=row.pk, attempts=row.attempts)
    if not ours.update(**columns):
        raise TakenOver
