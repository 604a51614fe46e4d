"""Checks the journal of this book."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain as chained
from uuid import UUID

from django.db.models import Max

from treatments import chain
from treatments.guarding import missing_guards
from treatments.models import ApplicationRecord, Checkpoint, JournalEntry
from treatments.rules.checkpoints import NoCheckpoint, read_checkpoint
from treatments.rules.journal import Entry
from treatments.rules.journal_walk import NOT_READ, Fault, Walk
from treatments.verifying.kept_tables import KeptTable
from treatments.verifying.notes import Notes
from treatments.verifying.own_rows import own_tables
from treatments.verifying.rows import entries_in_chunks, rows_of
from treatments.verifying.stock import faults_of_drawn_stock, stock_table
from treatments.verifying.table import Table
from treatments.verifying.verdict import Verdict

CHECKPOINTS = Checkpoint._meta.db_table


def verify_book(outside: Sequence[str] = (), tables: Sequence[KeptTable] = ()) -> Verdict:
    """Check the journal of this book, and the rows that it repeats.

    outside: texts of checkpoints that others kept; tables: others than those of this package
    that are to be held against their entries
    """
    verdict = Verdict()
    names = sorted(missing_guards("default"))
    verdict.add(Fault(f"the trigger {name} is missing") for name in names)
    # Counted before the entries: what is kept meanwhile is left for the next check.
    last_record = ApplicationRecord.objects.aggregate(last=Max("number"))["last"] or 0
    size = chain.journal_size()
    notes, table = Notes([*_stored(verdict), *outside]), Table(last_record)
    entries = chained.from_iterable(entries_in_chunks(size))
    others = [stock_table(), *own_tables(), *tables]
    walk_entries(entries, Walk(_seq_of), notes, verdict, table, others)
    verdict.add(faults_of_drawn_stock(last_record))
    verdict.records = table.count
    return verdict


def walk_entries(
    entries: Iterable[Entry],
    walk: Walk,
    notes: Notes,
    verdict: Verdict,
    table: Table | None = None,
    others: Sequence[KeptTable] = (),
) -> None:
    """Check each entry, then what the checkpoints and the tables say."""
    by_kind = tables_by_kind(others)
    of_table, of_notes = Verdict(), Verdict()
    for entry in entries:
        amends = table.amended_by(entry) if table is not None else None
        if faults := walk.step(entry, amends):
            verdict.add(faults)
        if walk.tree.size in notes.sizes:
            of_notes.add(notes.step(walk))
        for other in by_kind.get(str(walk.read.envelope.get("kind")), ()):
            of_table.add(other.step(entry.seq, walk.read))
        if table is None:
            continue
        if amends is not None and walk.read.body is NOT_READ:
            table.go_on()
        else:
            of_table.add(table.step(entry.seq, walk.read))
    verdict.add(walk.end())
    of_notes.add([*notes.unreadable, *notes.end(walk)])
    if table is not None:
        of_table.add(table.end(walk.next_seq))
    for other in others:
        of_table.add(other.end())
    for found in (of_notes, of_table):
        verdict.add(found.faults)
    verdict.size, verdict.checkpoints = walk.tree.size, notes.count
    verdict.root = walk.tree.root().hex() if verdict.size else ""


def tables_by_kind(tables: Sequence[KeptTable]) -> dict[str, list[KeptTable]]:
    """Return which tables want to see the entries of a kind."""
    by_kind: dict[str, list[KeptTable]] = {}
    for table in tables:
        for kind in table.kinds:
            by_kind.setdefault(kind, []).append(table)
    return by_kind


def _stored(verdict: Verdict) -> Iterator[str]:
    """Yield the texts of the checkpoints of this book, each held against its own columns."""
    sql = f"SELECT size, root, text FROM {CHECKPOINTS} ORDER BY size"  # noqa: S608
    for size, root, text in rows_of(sql, []):
        yield str(text)
        try:
            told = read_checkpoint(str(text))
        except NoCheckpoint:
            continue  # told once more where the text is read
        if (told.size, told.root.hex()) != (size, root):
            verdict.add([Fault(f"checkpoint after {size} entries: its text says otherwise")])


def _seq_of(entry_id: str) -> int | None:
    try:
        named = UUID(entry_id)
    except ValueError:
        return None
    rows = JournalEntry.objects.filter(entry_id=named)
    return rows.values_list("seq", flat=True).first()
