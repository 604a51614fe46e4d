"""Keeps that a client was given a copy of a record, and that a return was filed."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.journaling import journal_copy, journal_return
from treatments.models import ApplicationRecord, CopyGiven, ReturnFiled
from treatments.recording.clocks import done_there
from treatments.recording.numbering import lock_records
from treatments.rules.records import ReturnRule


@transaction.atomic
def give_copies(
    records: Iterable[ApplicationRecord], *, on: date, way: str, by: Any, at: datetime
) -> int:
    """Keep that clients have copies of records; return of how many that is new.

    by: who gave them, None where the book sent them itself

    Raise ValidationError for a day before the work or one that is still to come.
    """
    lock_records()
    return sum(_give(record, on, way, by, at) for record in records)


def _give(record: ApplicationRecord, on: date, way: str, by: Any, at: datetime) -> bool:
    if CopyGiven.objects.filter(record=record).exists():
        return False
    there = done_there(record)
    if not there.date() <= on <= at.astimezone(there.tzinfo).date():
        raise ValidationError(
            _("A copy of record %(number)s was given between the work and today."),
            params={"number": record.number},
            code="impossible_day",
        )
    row = CopyGiven(record=record, given_on=on, way=way, given_by=by, noted_at=at)
    row.full_clean()
    row.save()
    journal_copy(row)
    return True


@transaction.atomic
def file_return(
    rule: ReturnRule, first_day: date, *, on: date, how: str, by: Any, at: datetime
) -> bool:
    """Keep that the return of a period was filed; say whether that is new.

    Raise ValidationError for a period that is not over, or a day that is still to come.
    """
    lock_records()
    jurisdiction = f"US-{rule.jurisdiction}"
    known = ReturnFiled.objects.filter(jurisdiction=jurisdiction, first_day=first_day)
    if known.exists():
        return False
    if not rule.last_day(first_day) < on <= timezone.localdate(at):
        raise ValidationError(
            _("A return is filed after its period, and not on a day to come."),
            code="impossible_day",
        )
    row = ReturnFiled(
        jurisdiction=jurisdiction,
        first_day=first_day,
        filed_on=on,
        how=how,
        filed_by=by,
        noted_at=at,
    )
    row.full_clean()
    row.save()
    journal_return(row)
    return True
