"""Signing of records by who holds a certificate: kept for good, and an entry of the journal."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from treatments.certified import is_certified
from treatments.journaling import journal_signature
from treatments.models import ApplicationRecord, Applicator, Certificate, RecordSigned
from treatments.models.records import ApplicationRecordQuerySet


def unsigned(kept: ApplicationRecordQuerySet) -> ApplicationRecordQuerySet:
    """Return the records that stand and that nobody signed yet."""
    return kept.current().filter(signed__isnull=True)


def answered_for_by(user: Any, kept: ApplicationRecordQuerySet) -> ApplicationRecordQuerySet:
    """Return the records of what a person applied, or somebody under his or her supervision."""
    # Looked up first: a database finds either by its index, but not the one or the other's table.
    people = list(Applicator.objects.filter(user=user).values_list("pk", flat=True))
    held = Certificate.objects.filter(applicator__in=people)
    numbers = list(held.values_list("number", flat=True))
    return kept.filter(Q(applicator__in=people) | Q(supervisor_licence_number__in=numbers))


@transaction.atomic
def sign_records(records: Iterable[ApplicationRecord], *, by: User, at: datetime) -> int:
    """Keep that a person signed records; return how many of them nobody had signed before.

    Raise ValidationError where the person holds no certificate, or a record does not stand.
    """
    return sum(_sign(record, by, at) for record in records)


def _sign(record: ApplicationRecord, by: User, at: datetime) -> bool:
    if record.void or ApplicationRecord.objects.filter(amends=record).exists():
        message = _("Record %(number)s does not stand any more; sign the one in its place.")
        raise ValidationError(message, params={"number": record.number}, code="not_standing")
    held = _certificate_of(by, record, at.astimezone(ZoneInfo(record.time_zone)).date())
    row, is_new = RecordSigned.objects.get_or_create(
        record=record,
        defaults={
            "signed_by": by,
            "signed_at": at,
            "signer_name": held.applicator.name,
            "certificate_number": held.number,
        },
    )
    if is_new:
        journal_signature(row)
    return is_new


def _certificate_of(by: User, record: ApplicationRecord, day: date) -> Certificate:
    """Return a certificate that holds on a day, one of the record's place before others."""
    if not is_certified(by, day):
        raise ValidationError(_("Who signs a record holds a certificate."), code="not_certified")
    held = Certificate.objects.valid_on(day).filter(applicator__user=by)
    found = list(held.select_related("applicator"))
    there = [each for each in found if each.jurisdiction == record.jurisdiction]
    return [*there, *found][0]
