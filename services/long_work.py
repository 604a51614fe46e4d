"""Takes long work in hand, renews the hold, gives it back, and rings for what nobody does."""

from datetime import datetime, timedelta
from typing import Any

from celery import current_app
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext_noop

from services.models.long_work import LongWork

LEASE = timedelta(minutes=6)  # longer than a task may run
MOST_ATTEMPTS = 3
ENDED_WITHOUT_REASON = gettext_noop("It was tried three times and ended each time unforeseen.")


class TakenOver(RuntimeError):
    """Another worker has the row in hand, as this one's lease had run out."""


def claim(kind: type[LongWork], pk: int, *, now: datetime) -> Any:
    """Take a row into one's own hand; None where another has it or nothing is to be done."""
    due = kind.objects.due_at(now).filter(pk=pk, attempts__lt=MOST_ATTEMPTS)
    if not due.update(leased_until=now + LEASE, attempts=F("attempts") + 1):
        return None
    return kind.objects.get(pk=pk)


def change(row: Any, **columns: Any) -> None:
    """Change the row while this attempt still holds it; raise TakenOver where it does not."""
    ours = type(row).objects.filter(pk=row.pk, attempts=row.attempts, is_waiting=True)
    if not ours.update(**columns):
        raise TakenOver
    for name, value in columns.items():
        setattr(row, name, value)


def step(row: Any, number: int, of: int) -> None:
    """Keep how far the work is, and hold the row for as long again."""
    change(row, step=number, steps=of, leased_until=timezone.now() + LEASE)


def end(row: Any, **columns: Any) -> None:
    """Give the row back: nothing is to be done any more."""
    change(row, is_waiting=False, leased_until=None, **columns)


def fail(row: Any, reason: str) -> None:
    """Give the row back, and say why nothing came of it."""
    end(row, failed_at=timezone.now(), last_error=reason)


def wait_again(row: Any, **columns: Any) -> None:
    """Have a row taken in hand from the start, as when somebody confirmed what was found."""
    fresh = {"is_waiting": True, "attempts": 0, "step": 0, "steps": 0, "leased_until": None}
    type(row).objects.filter(pk=row.pk).update(**fresh | columns)


def ring(task: str, pk: int) -> None:
    """Ask a worker to do what a row asks for, once it is committed."""
    # Django names a robust callback when it fails, and a partial has no name.
    transaction.on_commit(lambda: _send_message(task, pk), robust=True)


def _send_message(task: str, pk: int) -> None:
    current_app.send_task(task, [pk], retry=False)


def sweep(kind: type[LongWork], task: str, now: datetime) -> int:
    """Ring for every row that is due, and give up those that were tried enough; return how many."""
    due = kind.objects.due_at(now)
    given_up = {"is_waiting": False, "failed_at": now, "leased_until": None}
    due.filter(attempts__gte=MOST_ATTEMPTS).update(**given_up, last_error=ENDED_WITHOUT_REASON)
    waiting = list(due.values_list("pk", flat=True))
    for pk in waiting:
        ring(task, pk)
    return len(waiting)
