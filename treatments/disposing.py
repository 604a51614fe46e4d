"""Disposes of records after their time: body and salt leave the journal, the leaf stays.

A record is kept as long as its rules ask and seven years at least.  The triggers of the database
let nothing pass but the blanking of a record that has a disposal, which has its own entry.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import Exists, OuterRef
from django.utils.translation import gettext_lazy as _

from treatments import chain
from treatments.blanking import DISPOSED, blanks
from treatments.models import ApplicationRecord, Disposal, EntryDisposal, JournalEntry
from treatments.recording import clocks_of, history_of
from treatments.recording.clocks import done_there
from treatments.recording.entries import NOUN
from treatments.recording.numbering import lock_records
from treatments.rules.canonical import plain
from treatments.rules.journal import DISPOSAL, entry_id_of

KEPT_YEARS = 7  # at least, whatever a rule asks: the longest that was read [WA-17-21]
CHUNK = 500


@dataclass(frozen=True, slots=True)
class PastItsTime:
    """A record that may be disposed of, and the last day on which it had to be kept."""

    record: ApplicationRecord
    keep_until: date


def past_their_time(today: date) -> Iterator[PastItsTime]:
    """Yield the records that need not be kept any longer, the oldest first."""
    long_ago = today - timedelta(days=365 * KEPT_YEARS)
    is_disposed = Disposal.objects.filter(record=OuterRef("pk"))
    oldest = (
        ApplicationRecord.objects.filter(~Exists(is_disposed))
        .filter(done_at__lt=datetime.combine(long_ago, time(), UTC))
        .select_related("amends")
        .order_by("done_at", "number")
    )
    for record in oldest.iterator(chunk_size=CHUNK):
        keep_until = kept_until(record)
        if keep_until < today:
            yield PastItsTime(record, keep_until)


def kept_until(record: ApplicationRecord) -> date:
    """Return until which day a record is kept: as long as any that it amends or that amends it."""
    row = [each.record for each in history_of(record)]
    return max(
        max(clocks_of(each).kept.keep_until, years_after(done_there(each).date())) for each in row
    )


def years_after(day: date) -> date:
    """Return the day until which what was done on a day is kept, whatever the rules ask."""
    if (day.month, day.day) == (2, 29):
        return date(day.year + KEPT_YEARS, 3, 1)
    return day.replace(year=day.year + KEPT_YEARS)


def dispose_of(records: Iterable[ApplicationRecord], *, by: Any, at: datetime) -> int:
    """Dispose of records whose time is past; return how many were, one disposed of before is not.

    Raise ValidationError for one that must still be kept: then none is disposed of.
    """
    with transaction.atomic():
        lock_records()
        return sum(_dispose(record, by, at) for record in records)


def _dispose(record: ApplicationRecord, by: Any, at: datetime) -> bool:
    if Disposal.objects.filter(record=record).exists():
        return False
    keep_until = kept_until(record)
    if keep_until >= at.date():
        raise ValidationError(
            _("Record %(number)s is kept until %(day)s."),
            params={"number": record.number, "day": keep_until},
            code="kept",
        )
    entry_id = entry_id_of(NOUN, record.number)
    Disposal(
        record=record,
        entry_id=entry_id,
        keep_until=keep_until,
        disposed_on=at.date(),
        disposed_by=by,
    ).save()
    said = {"record": record.number, "kept_until": keep_until}
    _take_body(entry_id, said, entry_id_of(DISPOSAL, record.number), by, at)
    # The model refuses to change kept rows; the triggers let this one change pass.
    models.QuerySet(ApplicationRecord).filter(pk=record.pk).update(**_blanked(record))
    return True


def dispose_of_entry(noun: str, number: int, *, keep_until: date, by: Any, at: datetime) -> bool:
    """Take the body of a thing's entry from the journal; in the caller's transaction.

    Say whether it was done now: one disposed of before is not.  Raise ValidationError before its
    time.

    noun, number: under which the entry's id is made
    """
    entry_id = entry_id_of(noun, number)
    if EntryDisposal.objects.filter(entry_id=entry_id).exists():
        return False
    if keep_until >= at.date():
        raise ValidationError(
            _("It is kept until %(day)s."), params={"day": keep_until}, code="kept"
        )
    EntryDisposal(
        noun=noun,
        number=number,
        entry_id=entry_id,
        keep_until=keep_until,
        disposed_on=at.date(),
        disposed_by=by,
    ).save()
    said = {"noun": noun, "number": number, "kept_until": keep_until}
    _take_body(entry_id, said, entry_id_of(f"{DISPOSAL} of {noun}", number), by, at)
    return True


def _take_body(entry_id: UUID, said: dict[str, Any], own_id: UUID, by: Any, at: datetime) -> None:
    """Append that an entry's body is disposed of, and take it; what has no entry loses none."""
    kept = JournalEntry.objects.filter(entry_id=entry_id)
    digest = kept.values_list("body_sha256", flat=True).first()
    if digest is None:
        return
    told = said | {"disposed_sha256": digest}
    chain.append(
        DISPOSAL,
        {name: plain(value) for name, value in told.items()},
        entry_id=own_id,
        amends=entry_id,
        actor=chain.actor_of(by),
        recorded_at=at,
    )
    models.QuerySet(JournalEntry).filter(entry_id=entry_id).update(body=None)


class Beside:
    """Holds and notices, which `services` knows; it replaces this when it starts."""

    count_past: Callable[[date], int] = staticmethod(lambda today: 0)
    dispose_of_past: Callable[[Any, datetime], int] = staticmethod(lambda by, at: 0)


def _blanked(record: ApplicationRecord) -> dict[str, Any]:
    needs_reason = record.amends_id is not None or record.void
    return blanks() | ({"amendment_reason": DISPOSED} if needs_reason else {})
