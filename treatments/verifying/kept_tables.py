"""Holds a table whose rows have entries of their own against these, some hundred at a time."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

from treatments.models import JournalEntry
from treatments.rules.journal import entry_id_of
from treatments.rules.journal_walk import Fault, Read

CHUNK = 500
MISSING = object()
Columns = Mapping[str, object]


class KeptTable:
    """Rows of one table and the entries of one kind that repeat them.

    kind: of the entries; noun: under which their ids are made; key: the name of a row's id in their
    bodies; rows_of: tells the columns of the rows with some ids, as the entries have them; ids: of
    all rows that must have an entry of their own, where the lowest that has one is given, or None
    """

    def __init__(
        self,
        kind: str,
        key: str,
        *,
        noun: str,
        rows_of: Callable[[Sequence[int]], dict[int, Columns]],
        ids: Callable[[int | None], Iterable[int]],
    ) -> None:
        self.kinds = frozenset({kind})
        self._kind, self._key, self._noun = kind, key, noun
        self._rows_of, self._ids = rows_of, ids
        self._held: list[tuple[int, int, dict[str, Any]]] = []
        self._lowest: int | None = None

    def step(self, seq: int, read: Read) -> Iterator[Fault]:
        """Hold an entry of this kind against its row, now or a little later."""
        number = read.body.get(self._key)
        if type(number) is int:
            self._held.append((seq, number, read.body))
            self._lowest = number if self._lowest is None else min(number, self._lowest)
        if len(self._held) >= CHUNK:
            yield from self._compare()

    def end(self) -> Iterator[Fault]:
        """Hold what is left against its rows, and tell of rows without an entry."""
        yield from self._compare()
        ids = iter(self._ids(self._lowest))
        while some := list(islice(ids, CHUNK)):
            wanted = {entry_id_of(self._noun, number): number for number in some}
            kept = JournalEntry.objects.filter(entry_id__in=wanted).values_list(
                "entry_id", flat=True
            )
            for entry_id in wanted.keys() - set(kept):
                yield Fault(f"{self._kind} {wanted[entry_id]} of its table has no entry")

    def _compare(self) -> Iterator[Fault]:
        rows = self._rows_of([number for _, number, _ in self._held])
        for seq, number, body in self._held:
            if number not in rows:
                yield Fault(f"the journal has {self._kind} {number}, its table has not", seq)
                continue
            differ = sorted(self.differing(rows[number], body))
            if differ:
                names = ", ".join(differ)
                yield Fault(f"the table says otherwise of {self._kind} {number}: {names}", seq)
        self._held.clear()

    def differing(self, row: Columns, body: Mapping[str, Any]) -> Iterable[str]:
        """Yield the columns of which an entry says otherwise than its row."""
        return (name for name in row if body.get(name, MISSING) != row[name])


class LastToldTable(KeptTable):
    """Rows that change, of which the last entry says how they stand; there are few of them."""

    def __init__(self, *told: Any, **named: Any) -> None:
        super().__init__(*told, **named)
        self._last: dict[int, tuple[int, int, dict[str, Any]]] = {}

    def step(self, seq: int, read: Read) -> Iterator[Fault]:
        """Remember an entry until a later one tells of the same row."""
        number = read.body.get(self._key)
        if type(number) is int:
            self._last[number] = (seq, number, read.body)
        return iter(())

    def end(self) -> Iterator[Fault]:
        """Hold the last entry of each row against it, and tell of rows without any."""
        self._lowest = min(self._last, default=None)
        self._held = list(self._last.values())
        yield from self._compare()
        for number in self._ids(self._lowest):
            if number not in self._last:
                yield Fault(f"{self._kind} {number} of its table has no entry")
