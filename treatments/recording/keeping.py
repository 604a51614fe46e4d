"""Keeps what was applied, as it was on the day."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any, Unpack
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models import ApplicationRecord, Locker, Lot, StockEntry
from treatments.recording.clocks import binding_of
from treatments.recording.copying import (
    Columns,
    air_columns,
    business_columns,
    clearance_columns,
    fitting,
    lot_columns,
    people_columns,
    pest_columns,
    place_columns,
    product_columns,
    sprayer_columns,
)
from treatments.recording.entries import append_record
from treatments.recording.flagging import Flag, flags_of_sprayer, flags_on
from treatments.recording.numbering import lock_records, next_number, record_of_event
from treatments.recording.stated import Stated
from treatments.rulebook import keys_of, rules_at
from treatments.storekeeping import (
    bring_back_what_is_used,
    enter,
    locked,
    put_back_where_it_was_taken,
)

NO_COLUMNS = {"conditions", "sprayer", "supervisor", "flags"}  # stated, and copied in other words


@transaction.atomic
def record_application(
    *,
    recorded_by: Any,
    event_id: UUID | None = None,
    now: datetime | None = None,
    locker: Locker | None = None,
    **stated: Unpack[Stated],
) -> ApplicationRecord:
    """Keep an application and draw its product from the lot; the same event is kept once.

    now: when the book takes it, if not at this moment
    locker: of the truck from which it was applied, where that is known

    What was done outdoors is never refused for being late, odd or against a label: it is kept
    and flagged.
    """
    refuse_naive(stated)
    lock_records()
    if known := record_of_event(event_id):
        return known
    now = now or timezone.now()
    columns = copied_columns(stated) | stated_columns(stated, now)
    record = ApplicationRecord(recorded_by=recorded_by, event_id=event_id, **columns)
    flags = [*stated.get("flags", ()), *flags_of_sprayer(record, stated.get("sprayer"))]
    return keep(record, flags=flags, now=now, locker=locker)


def copied_columns(stated: Mapping[str, Any]) -> Columns:
    """Return everything that the record copies for itself."""
    planting, product = stated["planting"], stated["product"]
    place, done_at = planting.property, stated["done_at"]
    day = done_at.astimezone(place.zone()).date()
    return fitting(
        {
            **place_columns(planting),
            **product_columns(product),
            **lot_columns(stated["lot"]),
            **pest_columns(stated["pest"]),
            **people_columns(
                stated["applicator"], stated.get("supervisor"), product, place.jurisdiction, day
            ),
            **business_columns(),
            **clearance_columns(
                product, planting, done_at, is_posted=bool(stated.get("posted_at"))
            ),
            **air_columns(stated.get("conditions")),
            **sprayer_columns(stated.get("sprayer")),
        }
    )


def stated_columns(stated: Mapping[str, Any], now: datetime) -> Columns:
    """Return what was stated in words of the record's own columns."""
    written_now = {"captured_at": now}
    told = {name: value for name, value in stated.items() if name not in NO_COLUMNS}
    return written_now | {name: value for name, value in told.items() if value is not None}


def keep(
    record: ApplicationRecord,
    *,
    flags: Iterable[Flag] = (),
    now: datetime | None = None,
    locker: Locker | None = None,
) -> ApplicationRecord:
    """Give a record its number and flags, save it, set the store right and append to the journal.

    Only under the lock of the records.
    """
    refuse_other_lot(record)
    changes = stock_changes(record)
    left = None
    if record.lot is not None:
        left = locked(record.lot).left() + changes.get(record.lot, Decimal(0))
    record.number = next_number()
    record.received_at = now or timezone.now()
    record.rules_checked_by = keys_of(rules_at(record.jurisdiction, binding_of(record)))
    if not record.void:
        record.flags = [*flags_on(record, left, record.received_at), *flags]
    record.full_clean()
    record.save()
    for lot, amount in changes.items():
        if amount:
            _enter(record, lot, amount, locker)
    append_record(record)
    return record


def refuse_other_lot(record: ApplicationRecord) -> None:
    """Raise ValidationError when the lot is one of another product: that is a slip of the hand."""
    if record.lot is not None and record.lot.product_id != record.product_id:
        raise ValidationError(
            {
                "lot": ValidationError(
                    _("%(lot)s is no lot of %(product)s."),
                    params={"lot": str(record.lot), "product": record.product.name},
                    code="other_product",
                )
            }
        )


def refuse_naive(moments: Mapping[str, Any]) -> None:
    """Raise ValidationError for a time without a zone: nobody knows which hour it means."""
    naive = [
        name
        for name, moment in moments.items()
        if isinstance(moment, datetime) and timezone.is_naive(moment)
    ]
    if naive:
        sentence = _("Give the time with its zone.")
        raise ValidationError({name: ValidationError(sentence, code="naive") for name in naive})


def stock_changes(record: ApplicationRecord) -> dict[Lot, Decimal]:
    """Return what each lot gains by a record; what an amended one took comes back first."""
    changes: dict[Lot, Decimal] = {}
    wrong = record.amends
    if wrong is not None and wrong.lot is not None:
        changes[wrong.lot] = wrong.product_amount
    if record.lot is not None and not record.void:
        changes[record.lot] = changes.get(record.lot, Decimal(0)) - record.product_amount
    return changes


def _enter(
    record: ApplicationRecord, lot: Lot, amount: Decimal, locker: Locker | None = None
) -> None:
    entered: dict[str, Any] = {
        "by": record.recorded_by,
        "at": record.done_at,
        "entered_at": record.received_at,
    }
    if locker is not None and amount < 0:
        bring_back_what_is_used(lot, -amount, locker, moved_for=record, **entered)
    enter(lot, StockEntry.Kind.APPLIED, amount, record=record, **entered)
    if amount > 0:
        put_back_where_it_was_taken(lot, amount, record.earlier(), moved_for=record, **entered)
