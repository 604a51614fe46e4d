"""Corrects a record by a second one, which names the first; the first stays as it is."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models import ApplicationRecord, Applicator, Certificate
from treatments.recording.copying import (
    Columns,
    air_columns,
    clearance_columns,
    fitting,
    lot_columns,
    people_columns,
    pest_columns,
    place_columns,
    product_columns,
    sprayer_columns,
)
from treatments.recording.keeping import NO_COLUMNS, keep, refuse_naive
from treatments.recording.numbering import lock_records, record_of_event

SHORTEST_REASON = 10
# What belongs to each record alone and is never taken over from the one before.
OWN_COLUMNS = {
    "id",
    "number",
    "captured_at",
    "received_at",
    "recorded_by",
    "event_id",
    "amends",
    "amendment_reason",
    "void",
    "flags",
    "rules_checked_by",
    "approved_by",
    "approved_at",
}


@transaction.atomic
def amend_application(
    record: ApplicationRecord,
    *,
    reason: str,
    by: Any,
    event_id: UUID | None = None,
    now: datetime | None = None,
    approved_by: Any = None,
    **changes: Any,
) -> ApplicationRecord:
    """Keep a whole new record in place of a wrong one, and set the store right.

    changes: anything `record_application` is told, or any column of the record.  What was copied
    on the day stays as it was, unless the thing it was copied from is changed.
    now: when the book takes it, if not at this moment
    approved_by: who agreed to it, where `by` may not amend alone
    """
    refuse_naive(changes)
    lock_records()
    if known := record_of_event(event_id):
        return known
    refuse_amendment(record, reason)
    before = columns_of(record)
    after = before | _copied_again(record, changes) | _told(changes)
    if after == before:
        raise ValidationError(_("Nothing is changed by this amendment."), code="nothing_changed")
    second = _second(record, after, reason, by, event_id, changes.get("captured_at") or now)
    return keep(_approved(second, approved_by, now), now=now)


@transaction.atomic
def void_application(
    record: ApplicationRecord,
    *,
    reason: str,
    by: Any,
    event_id: UUID | None = None,
    now: datetime | None = None,
    approved_by: Any = None,
) -> ApplicationRecord:
    """Keep that a record does not stand, and give the store back what it drew."""
    lock_records()
    if known := record_of_event(event_id):
        return known
    refuse_amendment(record, reason)
    second = _second(record, columns_of(record), reason, by, event_id, now)
    second.void = True
    return keep(_approved(second, approved_by, now), now=now)


def _approved(second: ApplicationRecord, by: Any, now: datetime | None) -> ApplicationRecord:
    """Note on a record who agreed to it and when; nobody where nobody was asked."""
    second.approved_by = by
    second.approved_at = (now or timezone.now()) if by else None
    return second


def refuse_amendment(record: ApplicationRecord, reason: str) -> None:
    """Raise ValidationError when a record cannot be amended, or no reason is given."""
    if len(reason.strip()) < SHORTEST_REASON:
        raise ValidationError(
            _("Give the reason in %(signs)s signs or more."),
            params={"signs": SHORTEST_REASON},
            code="reason_too_short",
        )
    newer = ApplicationRecord.objects.filter(amends=record).first()
    if newer is not None:
        raise ValidationError(
            _("Record %(number)s was amended already, by record %(newer)s; amend that one."),
            params={"number": record.number, "newer": newer.number},
            code="amended",
        )
    if record.void:
        raise ValidationError(
            _("Record %(number)s is void and stays void; record the application anew."),
            params={"number": record.number},
            code="void",
        )


def columns_of(record: ApplicationRecord) -> Columns:
    """Return the columns that a record that amends this one takes over."""
    return {
        field.name: getattr(record, field.name)
        for field in record._meta.concrete_fields
        if field.name not in OWN_COLUMNS
    }


def _told(changes: dict[str, Any]) -> Columns:
    return {
        name: value
        for name, value in changes.items()
        if name not in OWN_COLUMNS and name not in NO_COLUMNS
    }


def _copied_again(record: ApplicationRecord, changes: dict[str, Any]) -> Columns:
    """Return the copies of what was changed; a pest, say, does not renew the client's address."""
    planting = changes.get("planting", record.planting)
    product = changes.get("product", record.product)
    done_at = changes.get("done_at", record.done_at)
    columns: Columns = {}
    if planting != record.planting:
        columns |= place_columns(planting)
    if product != record.product:
        columns |= product_columns(product)
    if "lot" in changes and changes["lot"] != record.lot:
        columns |= lot_columns(changes["lot"])
    if changes.get("pest", record.pest) != record.pest:
        columns |= pest_columns(changes["pest"])
    if {"applicator", "supervisor", "done_at", "planting"} & set(changes):
        columns |= _people_again(record, changes, planting, product)
    if (planting, product) != (record.planting, record.product):
        posted = bool(changes.get("posted_at", record.posted_at))
        columns |= clearance_columns(product, planting, done_at, is_posted=posted)
    else:
        columns |= _moved(record, done_at)
    columns |= air_columns(changes.get("conditions")) | sprayer_columns(changes.get("sprayer"))
    return fitting(columns)


def _people_again(
    record: ApplicationRecord, changes: dict[str, Any], planting: Any, product: Any
) -> Columns:
    day = changes.get("done_at", record.done_at).astimezone(planting.property.zone()).date()
    return people_columns(
        changes.get("applicator", record.applicator),
        changes.get("supervisor") or _supervisor_of(record),
        product,
        planting.property.jurisdiction,
        day,
    )


def _supervisor_of(record: ApplicationRecord) -> Applicator | None:
    certificate = Certificate.objects.filter(
        number=record.supervisor_licence_number, jurisdiction=record.jurisdiction
    ).first()
    return certificate.applicator if certificate else None


def _moved(record: ApplicationRecord, done_at: Any) -> Columns:
    """Return re-entry and sign as far after the completion as they were."""
    later = done_at - record.done_at
    ends = {"reentry_at": record.reentry_at, "removal_at": record.removal_at}
    return {name: end and end + later for name, end in ends.items()}


def _second(
    record: ApplicationRecord,
    columns: Columns,
    reason: str,
    by: Any,
    event_id: UUID | None,
    captured_at: datetime | None,
) -> ApplicationRecord:
    return ApplicationRecord(
        **columns,
        captured_at=captured_at or timezone.now(),
        recorded_by=by,
        event_id=event_id,
        amends=record,
        amendment_reason=reason.strip(),
    )
