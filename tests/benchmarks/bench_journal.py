"""What keeping a record costs beside a bare insert, and how long a check and a proof take.

Run by name: `pytest tests/benchmarks/bench_journal.py -s`; it takes minutes and some gigabytes.
The book is filled with copies of one invented record, each with its entry, by fast means; what is
compared is compared within one run.  Speeds of a check are told by the seconds of processor that
this process took, so that a busy machine does not change them; what PostgreSQL's own processes take
is beside that.
"""

import json
import resource
from datetime import UTC, datetime
from hashlib import sha256
from time import perf_counter, process_time
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction

from services.models import Outbox
from treatments import chain
from treatments.models import ApplicationRecord, JournalEntry, StockEntry
from treatments.recording import record_application
from treatments.recording.entries import append_record
from treatments.recording.numbering import lock_records, next_number
from treatments.rules.journal import entry_text_of
from treatments.rules.merkle import Frontier, leaf_hash
from treatments.verifying import verify_book

BATCH = 5_000
ROUNDS = 60
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def record(stated):
    return record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))


def fill(record, first, end):
    """Put copies of a record in the book, with the numbers from `first` to the one before `end`."""
    names = [
        field.column
        for field in ApplicationRecord._meta.concrete_fields
        if field.column not in {"id", "number"}
    ]
    columns = ", ".join(names)
    head = JournalEntry.objects.order_by("-seq").values_list("seq", flat=True)[0] + 1
    tree = Frontier(head, chain.peaks(head))
    body, envelope = halves_of(record)
    for start in range(first, end, BATCH):
        numbers = range(start, min(start + BATCH, end))
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(
                f"INSERT INTO treatments_applicationrecord (number, {columns}) "  # noqa: S608
                f"WITH RECURSIVE n(number) AS (SELECT {numbers[0]} UNION ALL "
                f"SELECT number + 1 FROM n WHERE number < {numbers[-1]}) "
                f"SELECT n.number, {columns} FROM n, treatments_applicationrecord r "
                f"WHERE r.number = {record.number}"
            )
            cursor.executemany(
                "INSERT INTO treatments_journalentry (seq, entry_id, envelope, leaf_hash, "
                "subtree_hash, body, body_sha256) VALUES (%s, %s, %s, %s, %s, %s, %s)",
                [copy_of(number, tree, body, envelope) for number in numbers],
            )


def halves_of(record):
    """Return body and envelope of a record, with places for what differs from copy to copy."""
    entry = JournalEntry.objects.get(entry_id=entry_text_of("record", record.number))
    body = entry.body.replace("%", "%%").replace(
        f'"number":{record.number},', '"number":%(number)s,'
    )
    told = json.loads(entry.envelope)
    envelope = (
        entry.envelope.replace(told["body_sha256"], "%(digest)s")
        .replace(told["entry_id"], "%(entry_id)s")
        .replace(f'"seq":{entry.seq},', '"seq":%(seq)s,')
    )
    return body, envelope


def copy_of(number, tree, body, envelope):
    text = body % {"number": number}
    seq, digest, entry_id = (
        tree.size,
        sha256(text.encode()).hexdigest(),
        entry_text_of("record", number),
    )
    told = envelope % {"digest": digest, "entry_id": entry_id, "seq": seq}
    leaf = leaf_hash(told.encode())
    top = tree.add(leaf)
    kept_id = UUID(entry_id).hex if connection.vendor == "sqlite" else entry_id
    return seq, kept_id, told, leaf.hex(), top.hex(), text, digest


def times(act, rounds=ROUNDS):
    """Return how many milliseconds an act takes, of many the middle one."""
    took = []
    for number in range(rounds):
        start = perf_counter()
        act(number)
        took.append((perf_counter() - start) * 1000)
    return sorted(took)[rounds // 2]


def alternately(acts, rounds=ROUNDS):
    """Return how many milliseconds each act takes, one after the other many times, the middle."""
    took = [[] for _ in acts]
    for number in range(rounds):
        for act, found in zip(acts, took, strict=True):
            start = perf_counter()
            act(number)
            found.append((perf_counter() - start) * 1000)
    return [sorted(found)[rounds // 2] for found in took]


def bare_insert(number):
    """Insert one row and commit it: the least that any program must do to keep a fact."""
    with transaction.atomic():
        Outbox(
            kind=Outbox.Kind.CREW_SHEET, arguments={}, dedupe_key=str(uuid4()), not_before=NOON
        ).save(force_insert=True)


def keeper(record, stated):
    """Return an act that keeps a record that is composed: its row, entry, ledger line and mail."""
    values = {
        field.attname: field.value_from_object(record)
        for field in ApplicationRecord._meta.concrete_fields
        if field.attname not in {"id", "number"}
    }

    @transaction.atomic
    def keep(_):
        lock_records()
        copy = ApplicationRecord(**values, number=next_number())
        copy.save(force_insert=True)
        StockEntry(
            lot=stated["lot"],
            kind=StockEntry.Kind.APPLIED,
            amount=-copy.product_amount,
            happened_at=copy.done_at,
            entered_at=copy.received_at,
            entered_by=copy.recorded_by,
            record=copy,
        ).save(force_insert=True)
        append_record(copy)
        Outbox(
            kind=Outbox.Kind.CLIENT_SUMMARY, arguments={}, dedupe_key=str(uuid4()), not_before=NOON
        ).save(force_insert=True)

    return keep


@pytest.mark.parametrize("sizes", [(1_000, 10_000, 100_000), (1_000_000,)])
def test_keeping_a_record_takes_the_same_however_long_the_book_is(record, stated, sizes):
    ratios, filled = [], 2
    keep = keeper(record, stated)
    for size in sizes:
        fill(record, max(filled, next_record()), size + 1)
        filled = size + 1
        bare, kept, whole = alternately([bare_insert, keep, lambda _: record_application(**stated)])
        grown = chain.journal_size()
        proved = times(lambda number, grown=grown: chain.inclusion_proof_of(number * 3, grown), 50)
        extended = times(
            lambda number, size=size, grown=grown: chain.consistency_proof_of(size - number, grown),
            50,
        )
        ratios.append(bare / kept)
        print(  # noqa: T201
            f"\n{size:>9,} records, {connection.vendor}: bare insert {bare:.2f} ms, a composed "
            f"record {kept:.2f} ms ({bare / kept:.2f} of the rate), with copying and checks "
            f"{whole:.1f} ms; proof of an entry {proved:.2f} ms, of growth {extended:.2f} ms"
        )
        assert max(proved, extended) < 50
    assert min(ratios) >= 0.4


def next_record():
    return (ApplicationRecord.objects.order_by("-number").values_list("number", flat=True)[0]) + 1


@pytest.mark.parametrize("size", [100_000, 1_000_000])
def test_a_check_of_records_and_journal_takes_its_time_by_the_entry(record, size):
    fill(record, 2, size + 1)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    start, began = process_time(), perf_counter()
    verdict = verify_book()
    took, waited = process_time() - start, perf_counter() - began

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(  # noqa: T201
        f"\n{size:,} entries with records checked on {connection.vendor} in {took:.1f} s of one "
        f"core ({waited:.1f} s by the clock): {size / took:,.0f} a second; "
        f"{most / 1024:.0f} MB at most, {before / 1024:.0f} MB before"
    )
    assert (verdict.count, verdict.records) == (0, size)
    assert most < 300 * 1024
    assert size / took > 15_000  # half of what was measured on a free core
