"""Reads the journal as it lies in the database: plain rows, many at a time.

A text that is no UTF-8 any more is no reason to stop: it comes out with signs that no text has, and
is found to be another one than was kept.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any

from django.db import DatabaseError, connection

from treatments.models import JournalEntry
from treatments.rules.journal import Entry

CHUNK = 250
Row = Sequence[Any]

TABLE = JournalEntry._meta.db_table


def entries_in_chunks(size: int) -> Iterator[list[Entry]]:
    """Yield the entries at the first places of the journal in their order, some at a time."""
    for first in range(0, size, CHUNK):
        end = min(first + CHUNK, size)
        # Nothing may hide before the first place.
        where, places = (
            ("seq < %s", [end]) if first == 0 else ("seq >= %s AND seq < %s", [first, end])
        )
        sql = f"SELECT {_columns()} FROM {TABLE} WHERE {where} ORDER BY seq, id"  # noqa: S608
        yield list(map(Entry._make, rows_of(sql, places)))


def rows_of(sql: str, arguments: Sequence[Any]) -> list[Row]:
    """Return what a query finds, as the database gives it."""
    try:
        return _fetched(sql, arguments)
    except (DatabaseError, UnicodeDecodeError):
        if connection.vendor != "sqlite":
            raise
        return _fetched_as_it_is(sql, arguments)


def _fetched(sql: str, arguments: Sequence[Any]) -> list[Row]:
    with connection.cursor() as cursor:
        cursor.execute(sql, arguments)
        return cursor.fetchall()


def _fetched_as_it_is(sql: str, arguments: Sequence[Any]) -> list[Row]:
    raw: sqlite3.Connection = connection.connection
    usual = raw.text_factory
    raw.text_factory = _lenient
    try:
        return _fetched(sql, arguments)
    finally:
        raw.text_factory = usual


def _lenient(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _columns() -> str:
    """Return the columns of an entry; SQLite keeps any kind of value in any column."""
    if connection.vendor != "sqlite":
        return "seq, entry_id::text, envelope, leaf_hash, subtree_hash, body, body_sha256"
    cuts = [(1, 8), (9, 4), (13, 4), (17, 4), (21, 12)]
    entry_id = " || '-' || ".join(f"substr(entry_id, {start}, {end})" for start, end in cuts)
    texts = ("envelope", "leaf_hash", "subtree_hash", "body", "body_sha256")
    told = ", ".join(f"CAST({name} AS TEXT)" for name in texts)
    return f"CAST(seq AS INTEGER), {entry_id}, {told}"
