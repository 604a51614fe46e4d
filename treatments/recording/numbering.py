"""Numbers records without a gap, one worker at a time."""

from uuid import UUID

from django.db import connection

from treatments.models import ApplicationRecord

RECORDS_LOCK = 1_146_442_603  # any number will do that every worker shares


def lock_records() -> None:
    """Let nobody else keep a record before this transaction ends.

    SQLite has locked the whole database when the transaction began.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [RECORDS_LOCK])


def next_number() -> int:
    """Return the number after the last one; only under `lock_records`."""
    table = ApplicationRecord._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT coalesce(max(number), 0) + 1 FROM {table}")  # noqa: S608
        return int(cursor.fetchone()[0])


def record_of_event(event_id: UUID | None) -> ApplicationRecord | None:
    """Return the record that an event has made already, or None."""
    if event_id is None:
        return None
    return ApplicationRecord.objects.filter(event_id=event_id).first()
