"""Writes what the book has as the files by which it is brought."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import QuerySet

from services.bringing.columns import Kind
from services.sheets.spreadsheet import csv_lines

AT_A_TIME = 500


def lines_of(kind: type[Kind]) -> Iterator[str]:
    """Yield the lines of a CSV file that brings all of a kind into an empty book."""
    ready = kind()
    things: Iterable[Any] = ready.rows_to_write()
    if isinstance(things, QuerySet):
        things = things.iterator(AT_A_TIME)
    rows = (list(ready.values_of(thing).values()) for thing in things)
    yield from csv_lines(list(ready.fields), rows)
