"""Holds the table of records against what the journal says of each."""

from collections.abc import Iterator
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError
from django.db.models import F

from treatments.models import ApplicationRecord
from treatments.recording.entries import body_of
from treatments.rules.canonical import NotCanonical
from treatments.rules.journal import Entry
from treatments.rules.journal_walk import Fault, Read
from treatments.verifying.retelling import Retelling, Told

CHUNK = 250
MISSING = object()


class Table:
    """The records by number, walked side by side with their entries.

    last: the number of the last record that is looked at
    """

    def __init__(self, last: int) -> None:
        self.last = last
        self.count = 0
        self._rows = self._in_chunks()
        self._row = next(self._rows, None)

    def _in_chunks(self) -> Iterator[Told]:
        retelling = Retelling()
        for first in range(0, self.last + 1, CHUNK):
            yield from retelling.of_records(first, min(first + CHUNK, self.last + 1))

    def amended_by(self, entry: Entry) -> int | None:
        """Return which record the next one amends, 0 for none, where an entry has its very text.

        None where the entry is of something else, or says something else.
        """
        row = self._row
        if row is None or entry.body is None or not row.is_body(entry.body):
            return None
        return row.amends

    def step(self, seq: int, read: Read) -> Iterator[Fault]:
        """Hold the record of an entry against it."""
        number = read.record
        if number is None or number > self.last:
            return
        yield from self._without_entry(number, seq)
        if self._row is None or self._row.number != number:
            yield Fault("the journal has the record, the table has not", seq, number)
            return
        if read.body and (sentence := _difference(number, read.body)):
            yield Fault(sentence, seq, number)
        self.go_on()

    def go_on(self) -> None:
        """Go on to the next record."""
        self.count += 1
        self._row = next(self._rows, None)

    def end(self, next_seq: int) -> Iterator[Fault]:
        """Tell of the records after the last entry."""
        yield from self._without_entry(self.last + 1, next_seq)

    def _without_entry(self, number: int, seq: int) -> Iterator[Fault]:
        while self._row is not None and self._row.number < number:
            yield Fault("the record has no entry where it should stand", seq, self._row.number)
            self.go_on()


def _difference(number: int, body: dict[str, Any]) -> str:
    """Return what the table says otherwise than an entry, "" where it says the same."""
    rows = ApplicationRecord.objects.annotate(wrong=F("amends__number"))
    try:
        record = rows.get(number=number)
        row = body_of(record, record.wrong)
    except (DatabaseError, ValidationError, NotCanonical, ValueError, TypeError, ArithmeticError):
        return "the table holds what cannot be read"
    names = row.keys() | (body.keys() - {"salt"})
    differ = [name for name in names if row.get(name, MISSING) != body.get(name, MISSING)]
    return f"the table says otherwise of {', '.join(sorted(differ))}" if differ else ""
