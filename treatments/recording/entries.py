"""What the journal keeps of a record: all its columns, copied texts included, as they stand."""

from decimal import Decimal
from typing import Any

from treatments import chain
from treatments.models import ApplicationRecord, JournalEntry
from treatments.rules.canonical import plain
from treatments.rules.journal import AMENDMENT, RECORD, VOID, entry_id_of

NOUN = "record"
NOT_COPIED = {"id", "amends_id"}
# Columns that older records lack: an entry says nothing of them where they are empty.
ADDED_LATER = {"first_aid", "rules_checked_by", "approved_by_id", "approved_at"}


def append_record(record: ApplicationRecord) -> JournalEntry:
    """Append a record that was saved in this transaction, its amendments and voids as well."""
    return chain.append(**draft_of(record)._asdict())


def draft_of(record: ApplicationRecord) -> chain.Draft:
    """Return the entry of a record that was saved, before it has a place."""
    wrong = record.amends.number if record.amends else None
    return chain.Draft(
        kind_of(record),
        body_of(record, wrong),
        entry_id=entry_id_of(NOUN, record.number),
        amends=entry_id_of(NOUN, wrong) if wrong else None,
        actor=chain.actor_of(record.recorded_by),
        recorded_at=record.received_at,
    )


def kind_of(record: ApplicationRecord) -> str:
    """Return whether a record is a first one, an amendment, or says that one is void."""
    if record.void:
        return VOID
    return AMENDMENT if record.amends_id else RECORD


def body_of(record: ApplicationRecord, amends_number: int | None) -> dict[str, Any]:
    """Return the columns of a record as the journal keeps them.

    amends_number: the number of the record that it amends
    """
    columns = {
        field.attname: plain(_as_kept(field, field.value_from_object(record)))
        for field in record._meta.concrete_fields
        if field.attname not in NOT_COPIED and not _is_lacking(record, field.attname)
    }
    return {**columns, "amends_number": amends_number}


def _is_lacking(record: ApplicationRecord, name: str) -> bool:
    return name in ADDED_LATER and getattr(record, name) in (None, "")


def _as_kept(field: Any, value: Any) -> Any:
    """Return an amount with the places of its column, as the database gives it back."""
    if isinstance(value, Decimal):
        return value.quantize(Decimal(1).scaleb(-field.decimal_places))
    return value
