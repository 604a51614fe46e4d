"""What must reach the outside: written with its cause, taken under a lease, done once.

The row is the truth.  A message of the broker carries only its id and may be lost, for the sweep
rings again.  A mail is marked before it goes out and after; one that is found half sent is shown
to a person rather than sent twice.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from importlib import import_module
from zoneinfo import ZoneInfo

from celery import current_app
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext_noop

from services.journaling import journal_notice, journal_papers
from services.models import Outbox
from services.telling.letters import NobodyToTell, letter_for
from treatments.handing import give_copies
from treatments.models import ApplicationRecord, CopyGiven

LEASE = timedelta(minutes=10)  # longer than a task may run
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60))
MOST_ATTEMPTS = 5
PAPERS = (Outbox.Kind.CLIENT_SUMMARY, Outbox.Kind.ESTIMATE, Outbox.Kind.RECORD_COPY)

HALF_SENT = gettext_noop("It is not known whether this mail went out. Ask, then send it again.")
ENDED_WITHOUT_REASON = gettext_noop("It was tried five times and ended each time unforeseen.")


def queue(
    kind: Outbox.Kind,
    *,
    arguments: Mapping[str, object],
    dedupe_key: str,
    not_before: datetime,
) -> Outbox:
    """Write down what is to be sent, with its cause; a second time changes nothing.

    not_before: when it may go out; one that may at once is rung for after the commit
    """
    row, is_new = Outbox.objects.get_or_create(
        dedupe_key=dedupe_key,
        defaults={"kind": kind, "arguments": dict(arguments), "not_before": not_before},
    )
    if is_new and not_before <= timezone.now():
        ring(row.pk)
    return row


def ring(outbox_id: int) -> None:
    """Ask a worker to deliver a row once it is committed; with no broker the sweep will."""
    # Django names a robust callback when it fails, and a partial has no name.
    transaction.on_commit(lambda: _send_message(outbox_id), robust=True)


def claim(outbox_id: int, *, now: datetime) -> Outbox | None:
    """Take a row that is due into one's own hand; None where another has it or nothing is due."""
    taken = (
        Outbox.objects.due_at(now)
        .filter(pk=outbox_id, attempts__lt=MOST_ATTEMPTS)
        .update(leased_until=now + LEASE, attempts=F("attempts") + 1)
    )
    return Outbox.objects.get(pk=outbox_id) if taken else None


def deliver(outbox_id: int, *, now: datetime | None = None) -> bool:
    """Send what a row asks for, unless that was done; say whether it was sent now."""
    now = now or timezone.now()
    row = claim(outbox_id, now=now)
    if row is None:
        return False
    if row.kind == Outbox.Kind.HOOK:
        return _call(row, now)
    if row.sending_since is not None:
        return _fail(row, HALF_SENT, now)
    try:
        letter = letter_for(row)
    except NobodyToTell as reason:
        return _fail(row, str(reason), now)
    return _send(row, letter, now)


def sweep(now: datetime) -> int:
    """Ring for every row that is due, and give up those that were tried enough; return how many."""
    due = Outbox.objects.due_at(now)
    due.filter(attempts__gte=MOST_ATTEMPTS).update(
        failed_at=now, leased_until=None, last_error=ENDED_WITHOUT_REASON
    )
    waiting = list(due.values_list("pk", flat=True))
    for outbox_id in waiting:
        ring(outbox_id)
    return len(waiting)


def deliver_due(now: datetime) -> int:
    """Deliver here and now all that is due, without a worker; return how many were sent."""
    due = list(Outbox.objects.due_at(now).values_list("pk", flat=True))
    return sum(deliver(outbox_id, now=now) for outbox_id in due)


def send_again(row: Outbox, *, now: datetime) -> bool:
    """Give a failed row another five attempts, as a person asked; say whether it had failed."""
    revived = Outbox.objects.filter(pk=row.pk, failed_at__isnull=False).update(
        failed_at=None, sending_since=None, leased_until=None, attempts=0, not_before=now
    )
    if revived:
        ring(row.pk)
    return bool(revived)


def _send_message(outbox_id: int) -> None:
    current_app.send_task("services.tasks.deliver_outbox", [outbox_id], retry=False)


def _call(row: Outbox, now: datetime) -> bool:
    try:
        # Calls are written down by what stands here, so their module is reached from within.
        import_module("services.telling.hooks").call(row, now)
    except OSError as error:
        return _put_off(row, error, now)
    return _change(row, done_at=timezone.now(), leased_until=None, last_error="")


def _send(row: Outbox, letter: EmailMessage, now: datetime) -> bool:
    _change(row, sending_since=now)
    try:
        letter.send()
    except OSError as error:  # what the mail server or the way to it said, smtplib's errors too
        return _put_off(row, error, now)
    _mark_sent(row, letter)
    return True


@transaction.atomic
def _mark_sent(row: Outbox, letter: EmailMessage) -> None:
    """Note that a mail went out; the journal keeps a notice's words and a letter's hash."""
    at = timezone.now()
    is_ours = _change(row, done_at=at, sending_since=None, leased_until=None, last_error="")
    if is_ours and row.kind == Outbox.Kind.NOTICE:
        journal_notice(row, letter, at)
    if is_ours and row.kind in PAPERS:
        journal_papers(row, letter, at)
    if is_ours and row.kind == Outbox.Kind.RECORD_COPY:
        _note_copy(row, at)


def _note_copy(row: Outbox, at: datetime) -> None:
    """Note that the client has a copy of the record, on the day by the clock of its place."""
    record = ApplicationRecord.objects.get(pk=row.arguments["record"])
    day = at.astimezone(ZoneInfo(record.time_zone)).date()
    give_copies([record], on=day, way=CopyGiven.Way.MAIL, by=None, at=at)


def _put_off(row: Outbox, error: OSError, now: datetime) -> bool:
    reason = f"{type(error).__name__}: {error}"[:1000]
    if row.attempts >= MOST_ATTEMPTS:
        return _fail(row, reason, now)
    later = now + BACK_OFF[row.attempts - 1]
    _change(row, not_before=later, sending_since=None, leased_until=None, last_error=reason)
    return False


def _fail(row: Outbox, reason: str, now: datetime) -> bool:
    _change(row, failed_at=now, leased_until=None, last_error=reason)
    return False


def _change(row: Outbox, **columns: object) -> bool:
    """Change the row only while this attempt still holds it; say whether it did."""
    held = Outbox.objects.filter(pk=row.pk, attempts=row.attempts, done_at__isnull=True)
    return bool(held.update(**columns))
