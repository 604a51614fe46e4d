"""What the tables tell of jobs, phones, dispatch, checks and backups, as plain figures.

Each is asked through an index or of a small table, so that asking often costs little.  None names
a client or a person.
"""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db.models import Case, Count, Max, Min, Q, Sum, Value, When

from services import dispatching
from services.models import (
    AskedPackage,
    BookExport,
    Bringing,
    Device,
    Dispatch,
    FieldEvent,
    Outbox,
    Planning,
    Visit,
)
from services.safekeeping import last_backup, made_at
from services.watching.checks import last_check
from services.watching.pulses import last_heard_of

LONG_WORK: dict[str, Any] = {
    "planning": Planning,
    "bringing": Bringing,
    "package": AskedPackage,
    "export": BookExport,
}
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: its name, what it is, its value, and what tells it from others of the name."""

    name: str
    what: str
    value: float
    labels: tuple[tuple[str, str], ...] = ()


def figures(now: datetime) -> Iterator[Figure]:
    """Yield every figure that the tables and the disk tell."""
    yield from of_outbox(now)
    yield from of_long_work(now)
    yield from of_workers()
    yield from of_phones()
    yield from of_dispatch(now)
    yield from of_safety()


def of_outbox(now: datetime) -> Iterator[Figure]:
    """Yield how much waits to leave the book, by kind and state, and since when the oldest."""
    open_rows = Outbox.objects.filter(done_at__isnull=True)
    state = Case(
        When(failed_at__isnull=False, then=Value("failed")),
        When(leased_until__gte=now, then=Value("in hand")),
        When(not_before__gt=now, then=Value("later")),
        default=Value("due"),
    )
    counted = open_rows.order_by().values_list("kind", state).annotate(Count("pk"))
    for kind, name, count in counted:
        labels = (("kind", kind), ("state", name))
        yield Figure("outbox_items", "What was not sent yet.", count, labels)
    oldest = Outbox.objects.due_at(now).order_by().values_list("kind").annotate(Min("not_before"))
    for kind, since in oldest:
        age = (now - since).total_seconds()
        what = "How long the oldest that is due waits."
        yield Figure("outbox_oldest_due_seconds", what, age, (("kind", kind),))


def of_long_work(now: datetime) -> Iterator[Figure]:
    """Yield how much long work waits, is in hand and failed in a day, and the age of the oldest."""
    for kind, model in LONG_WORK.items():
        due = model.objects.due_at(now).aggregate(count=Count("pk"), since=Min("asked_at"))
        other = model.objects.aggregate(
            in_hand=Count("pk", filter=Q(leased_until__gte=now)),
            failed=Count("pk", filter=Q(failed_at__gte=now - DAY)),
        )
        states = {"due": due["count"], "in hand": other["in_hand"], "failed": other["failed"]}
        for state, count in states.items():
            labels = (("kind", kind), ("state", state))
            yield Figure("long_work_items", "Long work; failed: in a day.", count, labels)
        if due["since"]:
            age = (now - due["since"]).total_seconds()
            what = "How long the oldest that is due waits."
            yield Figure("long_work_oldest_due_seconds", what, age, (("kind", kind),))


def of_workers() -> Iterator[Figure]:
    """Yield when a worker of each queue was last heard of."""
    for queue, at in last_heard_of().items():
        what = "When a worker took from the queue."
        yield Figure("worker_seen_timestamp_seconds", what, at.timestamp(), (("queue", queue),))


def of_phones() -> Iterator[Figure]:
    """Yield what the crews' phones still hold, and what of theirs waits for a person."""
    told = Device.objects.enrolled().aggregate(
        phones=Count("pk"),
        held=Sum("unsent", default=0),
        oldest=Min("oldest_unsent_at", filter=Q(unsent__gt=0)),
        heard=Max("last_contact_at"),
    )
    yield Figure("phones_enrolled", "Phones that may send.", told["phones"])
    yield Figure("phone_unsent_events", "What phones said they hold unsent.", told["held"])
    to_review = FieldEvent.objects.to_review().count()
    yield Figure("phone_events_to_review", "What waits for a person to decide.", to_review)
    for name, at, what in (
        ("phone_oldest_unsent_timestamp_seconds", told["oldest"], "Since when a phone holds it."),
        ("phone_heard_timestamp_seconds", told["heard"], "When a phone was last heard of."),
    ):
        if at:
            yield Figure(name, what, at.timestamp())


def of_dispatch(now: datetime) -> Iterator[Figure]:
    """Yield how many crews have their day, and how many visits of today or before have no crew."""
    today = dispatching.today_at_yard(now)
    routes = Dispatch.objects.filter(day__gte=today)
    made = routes.aggregate(today=Count("pk", filter=Q(day=today)), all=Count("pk"))
    yield Figure("dispatches_today", "Crews that have their day.", made["today"])
    yield Figure("dispatches_ahead", "Days of crews from today on.", made["all"])
    late = Visit.objects.filter(state=Visit.State.NEEDS_ACTION, dispatch=None, planned__lte=today)
    yield Figure("visits_without_crew", "Planned for today or before.", late.count())


def of_safety() -> Iterator[Figure]:
    """Yield what the last check found, when the last backup was made, and the room on the disk."""
    check = last_check()
    if check and check.ended_at:
        took = (check.ended_at - check.begun_at).total_seconds()
        yield Figure("verify_timestamp_seconds", "When it ended.", check.ended_at.timestamp())
        yield Figure("verify_seconds", "How long it took.", took)
        yield Figure("verify_entries", "Entries that were checked.", check.entries)
        yield Figure("verify_faults", "What is not as it was kept.", check.faults)
    if backup := last_backup():
        at = made_at(backup).timestamp()
        yield Figure("backup_timestamp_seconds", "When the newest was made.", at)
    free = shutil.disk_usage(settings.DATA).free
    yield Figure("data_free_bytes", "Room on the disk of the data folder.", free)
