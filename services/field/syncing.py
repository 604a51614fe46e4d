"""Takes what phones send, each event in a transaction of its own, once and for ever."""

import logging
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError as RuleBroken
from django.db import DataError, IntegrityError, OperationalError, transaction

from services.field.events import (
    ANOTHER_BODY,
    MALFORMED,
    Event,
    Unreadable,
    as_sent,
    event_id_in,
    read_event,
)
from services.field.keeping import keep_event, settle
from services.field.outcomes import Missing, NeedsInput, Outcome, Told, missing_of, refusal_of
from services.field.photos import keep_known
from services.field.telling import visit_of
from services.journaling import journal_photos
from services.models import Device, FieldEvent
from services.rules.phone_clocks import gaps_in, sequence_repeated
from treatments.recording import flag_of

logger = logging.getLogger(__name__)
security = logging.getLogger("services.security")

LOOKED_BACK = 1_000  # numbers of a phone among which gaps are looked for
FINAL = (FieldEvent.Result.ACCEPTED, FieldEvent.Result.FLAGGED)


class Busy(RuntimeError):
    """The book could not be written just now; the phone tries again."""


def take_batch(device: Device, sent: Iterable[Mapping[str, Any]], *, now: datetime) -> list[Told]:
    """Take events in their order and return what became of each.

    Raise Busy where the book could not be written at all; what follows an event that it could not
    write has no reply, and comes again.
    """
    replies: list[Told] = []
    for each in sent:
        try:
            replies.append(take(device, each, now=now))
        except OperationalError as error:
            logger.warning("events could not be written", extra={"error": str(error)})
            if not replies:
                raise Busy from error
            break
    return replies


def take(device: Device, sent: Mapping[str, Any], *, now: datetime) -> Told:
    """Take one event: a repeat gets the reply that it got, and changes nothing."""
    try:
        event = read_event(sent, device)
    except Unreadable as error:
        return _refuse(device, sent, error, now)
    try:
        return _take(device, event, now)
    except Unreadable as error:
        return refusal_of(str(event.event_id), error.code, error.detail, error.status)
    except (DataError, IntegrityError) as error:
        logger.exception("an event could not be kept", extra={"event": str(event.event_id)})
        refused = Unreadable(MALFORMED, type(error).__name__)
        return _refuse(device, sent, refused, now)


@transaction.atomic
def _take(device: Device, event: Event, now: datetime) -> Told:
    _one_at_a_time(device)
    known = FieldEvent.objects.filter(event_id=event.event_id).first()
    if known is not None and known.result != FieldEvent.Result.REFUSED:
        _refuse_another_body(known, event)
        if known.result in FINAL or known.decided_at is not None:
            return {**known.reply, "result": "duplicate"}
    row = known or FieldEvent(event_id=event.event_id)
    _write(row, event, device, now)
    missing, outcome = _kept(event, device, now)
    if _is_repeated(event, device):
        flag = flag_of(sequence_repeated(event.seq))
        outcome = Outcome(outcome.records, (*outcome.flags, flag))
    settle(row, outcome, missing)
    row.save()
    row.records.set(outcome.records)
    Device.objects.filter(pk=device.pk).update(skew_seconds=row.skew_seconds)
    _announce_photos(row, device, event, now)
    return row.reply


def _kept(event: Event, device: Device, now: datetime) -> tuple[Sequence[Missing], Outcome]:
    """Keep an event, or return what is missing; then nothing of it is kept but the draft."""
    try:
        with transaction.atomic():
            return (), keep_event(event, device, now)
    except NeedsInput as error:
        return error.missing, Outcome()
    except RuleBroken as refusal:
        return missing_of(refusal), Outcome()


def _one_at_a_time(device: Device) -> None:
    """Let one request at a time take what a phone sends; SQLite locks by its transaction alone."""
    Device.objects.select_for_update().get(pk=device.pk)


def _refuse_another_body(known: FieldEvent, event: Event) -> None:
    if known.fingerprint == event.fingerprint:
        return
    security.warning(
        "an event came again with another body",
        extra={"event": str(event.event_id), "device": str(known.device_id)},
    )
    raise Unreadable(ANOTHER_BODY, "The event was told before with another body.", 422)


def _write(row: FieldEvent, event: Event, device: Device, now: datetime) -> None:
    skew = event.skew()
    row.device, row.person, row.device_seq = device, device.person, event.seq
    row.kind, row.visit = event.kind, visit_of(event, device)
    row.done_at, row.captured_at, row.received_at = event.done_at, event.captured_at, now
    row.skew_seconds = None if skew is None else _bounded(int(skew.total_seconds()))
    row.fingerprint, row.told = event.fingerprint, event.told


def _bounded(seconds: int) -> int:
    """Return seconds within what a column holds: clocks can be wrong by any number of years."""
    most = 2**31 - 1
    return max(-most, min(seconds, most))


def _is_repeated(event: Event, device: Device) -> bool:
    same = FieldEvent.objects.filter(device=device, device_seq=event.seq)
    return same.exclude(event_id=event.event_id).exists()


def _announce_photos(row: FieldEvent, device: Device, event: Event, now: datetime) -> None:
    """Write down which photos will follow, and their hashes in the journal."""
    fresh = [
        photo for photo in event.photos if not row.photos.filter(sha256=photo["sha256"]).exists()
    ]
    for photo in fresh:
        keep_known(row.photos.create(device=device, **photo))
    if fresh and row.result in FINAL:
        journal_photos(row, now)


@transaction.atomic
def _refuse(device: Device, sent: Mapping[str, Any], error: Unreadable, now: datetime) -> Told:
    """Tell why an event was not taken; where it has an id, the office finds what was sent."""
    event_id = event_id_in(sent)
    reply = refusal_of(event_id, error.code, error.detail, error.status)
    logger.warning("event refused", extra={"device": str(device.pk), "code": error.code})
    if not event_id or FieldEvent.objects.filter(event_id=event_id).exists():
        return reply
    FieldEvent.objects.create(
        event_id=event_id,
        device=device,
        person=device.person,
        device_seq=0,
        received_at=now,
        told=as_sent(sent),
        result=FieldEvent.Result.REFUSED,
        needs_review=True,
        reply=reply,
    )
    return reply


def standing_of(device: Device) -> tuple[int, list[tuple[int, int]]]:
    """Return the last number that a phone has used, and the runs of numbers that never came."""
    seen = FieldEvent.objects.filter(device=device, device_seq__gt=0)
    last = max(seen.order_by("-device_seq").values_list("device_seq", flat=True)[:1], default=0)
    first = max(1, last - LOOKED_BACK)
    numbers = set(seen.filter(device_seq__gte=first).values_list("device_seq", flat=True))
    return last, gaps_in(numbers, last, first=first)
