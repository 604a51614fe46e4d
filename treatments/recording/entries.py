"""What the journal keeps of a record: all its columns, copied texts included, as they stand."""

from decimal import Decimal
from functools import cache
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

    A migration gives a record as its table was then: columns that came later are not in it.

    amends_number: the number of the record that it amends
    """
    columns = {
        name: plain(_as_kept(value, places))
        for name, places in _copied(type(record))
        if (value := getattr(record, name)) not in (None, "") or name not in ADDED_LATER
    }
    return {**columns, "amends_number": amends_number}


@cache
def _copied(kind: type[ApplicationRecord]) -> tuple[tuple[str, Decimal | None], ...]:
    """Return the columns that are copied, each with the last place of its amounts."""
    fields: Any = kind._meta.concrete_fields
    return tuple(
        (field.attname, _last_place(field)) for field in fields if field.attname not in NOT_COPIED
    )


def _last_place(field: Any) -> Decimal | None:
    places = getattr(field, "decimal_places", None)
    return None if places is None else Decimal(1).scaleb(-places)


def _as_kept(value: Any, last_place: Decimal | None) -> Any:
    """Return an amount with the places of its column, as the database gives it back."""
    return value.quantize(last_place) if last_place and isinstance(value, Decimal) else value
