"""Writes the body of a record's entry again from its row, in the database itself.

A body that is the very same text says what the table says and is in the form of its writing,
without being read.  What the database writes in another way, such as letters that are not in form
NFC, is left to a slower comparison.
"""

import json
import unicodedata
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any, NamedTuple

from django.db import connection, models

from treatments.models import ApplicationRecord
from treatments.recording.entries import ADDED_LATER, NOT_COPIED
from treatments.rules.canonical import canonical, plain
from treatments.verifying.rows import rows_of

SALT_DIGITS = 32
DIGITS = "0123456789abcdef"
NO_FLAGS = '"flags":[]'
MOST_PAIRS = 50  # of a piece: SQLite takes 127 arguments, of which each pair is two


class Told(NamedTuple):
    """What a row tells: the body before and after its salt, and which record it amends, or 0."""

    number: int
    amends: int
    before: str
    after: str

    def is_body(self, body: str) -> bool:
        """Say whether a body is this one, whatever its salt."""
        _number, _amends, before, after = self
        start = len(before)
        salt = body[start : start + SALT_DIGITS]
        return (
            body == f"{before}{salt}{after}"
            and len(salt) == SALT_DIGITS
            and not salt.strip(DIGITS)
            and ("\\" not in body or "\\u" not in body)
            and (body.isascii() or unicodedata.is_normalized("NFC", body))
        )


class Retelling:
    """Asks the database for bodies: the keys in their order, each value as JSON writes it."""

    def __init__(self) -> None:
        table = ApplicationRecord._meta.db_table
        fields = {
            field.attname: field
            for field in ApplicationRecord._meta.concrete_fields
            if field.attname not in NOT_COPIED
        }
        groups = list(_groups(sorted([*fields, "amends_number"])))
        self._cut = sum(group[0] < "salt" for group in groups)
        pieces = [_piece({name: fields.get(name) for name in group}) for group in groups]
        self.sql = (
            f"SELECT t.number, coalesce(w.number, 0), t.flags, {', '.join(pieces)} "  # noqa: S608
            f"FROM {table} t LEFT JOIN {table} w ON w.id = t.amends_id "
            "WHERE t.number >= %s AND t.number < %s ORDER BY t.number"
        )

    def of_records(self, first: int, end: int) -> Iterator[Told]:
        """Yield what the rows of records tell, from the first number to the one before the end."""
        cut = self._cut
        for number, amends, flags, *pieces in rows_of(self.sql, [first, end]):
            # Without the braces of the pieces, and without what older entries lack.
            before = ",".join([piece[1:-1] for piece in pieces[:cut] if piece])
            after = ",".join([piece[1:-1] for piece in pieces[cut:] if piece])
            if flags != "[]":
                before = _with_flags(before, flags)
            yield Told(number, amends, f'{{{before},"salt":"', f'",{after}}}')


def _groups(names: Sequence[str]) -> Iterator[list[str]]:
    """Part names into pieces: none reaches over the salt; what older entries lack stands alone."""
    for _where, some in groupby(
        names, lambda name: (name < "salt", name if name in ADDED_LATER else "")
    ):
        group = list(some)
        for start in range(0, len(group), MOST_PAIRS):
            yield group[start : start + MOST_PAIRS]


def _with_flags(before: str, flags: Any) -> str:
    """Put flags in their place; a database may keep them with their keys in another order."""
    try:
        told = canonical(plain(json.loads(flags))).decode()
    except (TypeError, ValueError):
        return before
    return before.replace(NO_FLAGS, f'"flags":{told}', 1)


def _piece(fields: dict[str, Any]) -> str:
    """Return the SQL that writes some columns as an object of JSON; NULL for what is lacking.

    fields: by their names, None for the number of the record that is amended
    """
    write = _in_sqlite if connection.vendor == "sqlite" else _in_postgresql
    columns = {
        name: "w.number" if field is None else f"t.{connection.ops.quote_name(name)}"
        for name, field in fields.items()
    }
    values = {name: write(columns[name], field) for name, field in fields.items()}
    if connection.vendor == "sqlite":
        pairs = ", ".join(f"'{name}', {value}" for name, value in values.items())
        written = f"json_object({pairs})"
    else:
        slots = ",".join(f'"{name}":%%s' for name in values)  # %% is one sign for the driver
        written = f"format('{{{slots}}}', {', '.join(values.values())})"
    (name, field), *others = fields.items()
    if name not in ADDED_LATER or others:
        return written
    is_text = isinstance(field, (models.CharField, models.TextField))
    is_empty = f"{columns[name]} = ''" if is_text else f"{columns[name]} IS NULL"
    return f"CASE WHEN {is_empty} THEN NULL ELSE {written} END"


def _in_sqlite(column: str, field: Any) -> str:
    """Return the SQL for a value of which SQLite's JSON is the text that an entry has.

    SQLite has no moments, amounts or UUIDs, only the texts and numbers that stand for them.
    """
    if isinstance(field, models.JSONField):
        return "json('[]')"
    if isinstance(field, models.BooleanField):
        return f"CASE {column} WHEN 1 THEN json('true') WHEN 0 THEN json('false') END"
    if isinstance(field, models.DateTimeField):
        return f"replace({column}, ' ', 'T') || 'Z'"
    if isinstance(field, models.DecimalField):
        written = f"printf('%%.{field.decimal_places}f', {column})"
        return f"CASE WHEN {column} IS NOT NULL THEN {written} END"
    if isinstance(field, models.UUIDField):
        cuts = [(1, 8), (9, 4), (13, 4), (17, 4), (21, 12)]
        written = " || '-' || ".join(f"substr({column}, {start}, {end})" for start, end in cuts)
        return f"CASE WHEN {column} IS NOT NULL THEN {written} END"
    return column


def _in_postgresql(column: str, field: Any) -> str:
    """Return the SQL for the text that an entry has of a value."""
    if isinstance(field, models.JSONField):
        return "'[]'"
    if isinstance(field, (models.CharField, models.TextField)):
        return f"to_json({column})"
    if isinstance(field, models.DateTimeField):
        utc = f"to_char({column} AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US')"
        return f"coalesce('\"' || replace({utc}, '.000000', '') || 'Z\"', 'null')"
    if isinstance(field, (models.DecimalField, models.UUIDField)):
        return f"coalesce('\"' || {column} || '\"', 'null')"
    return f"coalesce({column}::text, 'null')"
