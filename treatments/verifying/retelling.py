"""Writes the body of a record's entry again from its row, in the database itself.

A body that is the very same text says what the table says and is in the form of its writing,
without being read.  What the database writes in another way, such as letters that are not in form
NFC, is left to a slower comparison.
"""

import json
import unicodedata
from collections.abc import Iterator
from typing import Any, NamedTuple

from django.db import connection, models

from treatments.models import ApplicationRecord
from treatments.recording.entries import ADDED_LATER, NOT_COPIED
from treatments.rules.canonical import canonical, plain
from treatments.verifying.rows import rows_of

SALT_DIGITS = 32
DIGITS = "0123456789abcdef"
NO_FLAGS = '"flags":[]'


class Told(NamedTuple):
    """What a row tells: the body before and after its salt, and which record it amends, or 0."""

    number: int
    amends: int
    before: str
    after: str

    def is_body(self, body: str) -> bool:
        """Say whether a body is this one, whatever its salt."""
        start, end = len(self.before), len(self.before) + SALT_DIGITS
        return (
            body.startswith(self.before)
            and body.endswith(self.after)
            and len(body) == end + len(self.after)
            and not body[start:end].strip(DIGITS)
            and "\\u" not in body
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
        names = sorted([*fields, "amends_number"])
        cut = sum(name < "salt" for name in names)
        before = "{" + "".join(_slot(f'"{name}":%s,') for name in names[:cut]) + '"salt":"'
        after = '"' + "".join(_slot(f',"{name}":%s') for name in names[cut:]) + "}"
        values = [_expression(name, fields.get(name)) for name in names]
        for place, name in enumerate(names):
            if name in ADDED_LATER:
                key = (f'"{name}":', ",") if place < cut else (f',"{name}":', "")
                values[place] = _unless_empty(name, fields[name], values[place], *key)
        self.sql = (
            f"SELECT t.number, coalesce(w.number, 0), {_written(before, values[:cut])}, "  # noqa: S608
            f"{_written(after, values[cut:])}, t.flags "
            f"FROM {table} t LEFT JOIN {table} w ON w.id = t.amends_id "
            "WHERE t.number >= %s AND t.number < %s ORDER BY t.number"
        )

    def of_records(self, first: int, end: int) -> Iterator[Told]:
        """Yield what the rows of records tell, from the first number to the one before the end."""
        for number, amends, before, after, flags in rows_of(self.sql, [first, end]):
            yield Told(number, amends, _with_flags(before, flags), after)


def _with_flags(before: str, flags: Any) -> str:
    """Put flags in their place; a database may keep them with their keys in another order."""
    if flags == "[]":
        return before
    try:
        told = canonical(plain(json.loads(flags))).decode()
    except (TypeError, ValueError):
        return before
    return before.replace(NO_FLAGS, f'"flags":{told}', 1)


def _slot(written: str) -> str:
    """Return the place of a key and its value; what older entries lack brings its own key."""
    return "%s" if written.split('"')[1] in ADDED_LATER else written


def _unless_empty(name: str, field: Any, value: str, before: str, after: str) -> str:
    """Return the SQL that says nothing of a column that is empty, as older entries do."""
    is_text = isinstance(field, (models.CharField, models.TextField))
    is_empty = f"t.{name} = ''" if is_text else f"t.{name} IS NULL"
    return f"CASE WHEN {is_empty} THEN '' ELSE '{before}' || {value} || '{after}' END"


def _written(pattern: str, values: list[str]) -> str:
    function = "printf" if connection.vendor == "sqlite" else "format"
    literal = pattern.replace("%", "%%")  # once for the driver, which has signs of the same kind
    return f"{function}('{literal}', {', '.join(values)})"


def _expression(name: str, field: Any) -> str:
    """Return the SQL that writes a value as canonical JSON does."""
    column = "w.number" if field is None else f"t.{connection.ops.quote_name(name)}"
    if isinstance(field, models.JSONField):
        return "'[]'"
    if connection.vendor == "sqlite":
        return _in_sqlite(column, field)
    return _in_postgresql(column, field)


def _in_sqlite(column: str, field: Any) -> str:
    """SQLite has no moments, amounts or UUIDs, only the texts and numbers that stand for them."""
    if isinstance(field, (models.CharField, models.TextField)):
        return f"json_quote({column})"
    if isinstance(field, models.BooleanField):
        return f"CASE {column} WHEN 1 THEN 'true' WHEN 0 THEN 'false' END"
    if isinstance(field, models.DateTimeField):
        return f"coalesce('\"' || replace({column}, ' ', 'T') || 'Z\"', 'null')"
    if isinstance(field, models.DecimalField):
        written = f"printf('\"%%.{field.decimal_places}f\"', {column})"
        return f"CASE WHEN {column} IS NULL THEN 'null' ELSE {written} END"
    if isinstance(field, models.UUIDField):
        cuts = [(1, 8), (9, 4), (13, 4), (17, 4), (21, 12)]
        parts = " || '-' || ".join(f"substr({column}, {start}, {end})" for start, end in cuts)
        return f"coalesce('\"' || {parts} || '\"', 'null')"
    return f"coalesce({column}, 'null')"


def _in_postgresql(column: str, field: Any) -> str:
    if isinstance(field, (models.CharField, models.TextField)):
        return f"to_json({column})"
    if isinstance(field, models.DateTimeField):
        utc = f"to_char({column} AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US')"
        return f"coalesce('\"' || replace({utc}, '.000000', '') || 'Z\"', 'null')"
    if isinstance(field, (models.DecimalField, models.UUIDField)):
        return f"coalesce('\"' || {column} || '\"', 'null')"
    return f"coalesce({column}::text, 'null')"
