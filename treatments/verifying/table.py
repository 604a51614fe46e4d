"""Holds the table of records against what the journal says of each."""

from collections.abc import Iterator
from typing import Any

from django.db.models import F

from treatments.models import ApplicationRecord
from treatments.recording.entries import body_of
from treatments.rules.journal_walk import Fault, Read

CHUNK = 500
MISSING = object()


class Table:
    """The records by number, walked side by side with their entries.

    last: the number of the last record that is looked at
    """

    def __init__(self, last: int) -> None:
        rows = ApplicationRecord.objects.filter(number__lte=last).order_by("number")
        self._rows = rows.annotate(wrong=F("amends__number")).iterator(chunk_size=CHUNK)
        self._row = next(self._rows, None)
        self.last = last
        self.count = 0

    def step(self, seq: int, read: Read) -> Iterator[Fault]:
        """Hold the record of an entry against it."""
        number = read.record
        if number is None or number > self.last:
            return
        yield from self._without_entry(number, seq)
        if self._row is None or self._row.number != number:
            yield Fault("the journal has the record, the table has not", seq, number)
            return
        if read.body and (names := _differences(self._row, read.body)):
            yield Fault(f"the table says otherwise of {', '.join(names)}", seq, number)
        self._go_on()

    def end(self, next_seq: int) -> Iterator[Fault]:
        """Tell of the records after the last entry."""
        yield from self._without_entry(self.last + 1, next_seq)

    def _without_entry(self, number: int, seq: int) -> Iterator[Fault]:
        while self._row is not None and self._row.number < number:
            yield Fault("the record has no entry where it should stand", seq, self._row.number)
            self._go_on()

    def _go_on(self) -> None:
        self.count += 1
        self._row = next(self._rows, None)


def _differences(record: Any, body: dict[str, Any]) -> list[str]:
    row = body_of(record, record.wrong)
    names = row.keys() | (body.keys() - {"salt"})
    return sorted(name for name in names if row.get(name, MISSING) != body.get(name, MISSING))
