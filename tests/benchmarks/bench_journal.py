"""What an entry costs beside a bare insert, and how long a check and a proof take.

Run by name: `pytest tests/benchmarks/bench_journal.py -s`.  The entries repeat one invented
record; times are compared within one run.
"""

import json
from dataclasses import asdict
from time import perf_counter
from uuid import uuid4

import pytest
from django.db import transaction

from treatments import chain
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import record_application
from treatments.recording.entries import body_of
from treatments.rules.journal import entry_id_of, write_entry
from treatments.rules.merkle import Frontier
from treatments.verifying import verify_book

SALT = bytes(16)
BATCH = 2_000
ROUNDS = 200


@pytest.fixture
def record(stated):
    return record_application(**stated)


def entries(record, first, end, tree):
    """Yield entries for records of these numbers, as they would be appended."""
    body = body_of(record, None)
    for seq in range(first, end):
        entry = write_entry(
            seq=seq,
            kind="record",
            entry_id=entry_id_of("record", seq + 1),
            amends=None,
            actor="system",
            recorded_at=record.received_at,
            body=body | {"number": seq + 1},
            salt=SALT,
            peaks=tree.peaks,
        )
        tree.add(bytes.fromhex(entry.leaf_hash))
        yield JournalEntry(**asdict(entry))


def fill(record, size):
    tree = Frontier()
    tree.add(bytes.fromhex(JournalEntry.objects.get().leaf_hash))
    for first in range(1, size, BATCH):
        rows = entries(record, first, min(first + BATCH, size), tree)
        JournalEntry.objects.bulk_create(rows)


def milliseconds(act, rounds=ROUNDS):
    """Return how long an act takes, of many in one transaction, the middle one."""
    took = []
    with transaction.atomic():
        for number in range(rounds):
            start = perf_counter()
            act(number)
            took.append((perf_counter() - start) * 1000)
    return sorted(took)[rounds // 2]


def bare_insert(size):
    """Return an act that inserts a row as wide as an entry, without a thought."""
    model = JournalEntry.objects.get(seq=0)

    def insert(number):
        row = JournalEntry(
            seq=size + 10_000_000 + number,
            entry_id=uuid4(),
            envelope=model.envelope,
            leaf_hash=model.leaf_hash,
            subtree_hash=model.subtree_hash,
            body=model.body,
            body_sha256=model.body_sha256,
        )
        row.save(force_insert=True)

    return insert


@pytest.mark.slow
@pytest.mark.parametrize("size", [1_000, 100_000, 1_000_000])
def test_an_append_takes_the_same_however_long_the_journal_is(record, size):
    fill(record, size)
    body = json.loads(JournalEntry.objects.get(seq=0).body)
    body.pop("salt")

    appended = milliseconds(
        lambda number: chain.append(
            "notice", body, entry_id=uuid4(), recorded_at=record.received_at
        )
    )
    grown = chain.journal_size()
    proved = milliseconds(lambda number: chain.inclusion_proof_of(number * 3, grown), 50)
    extended = milliseconds(lambda number: chain.consistency_proof_of(size - number, grown), 50)
    bare = milliseconds(bare_insert(size))

    print(  # noqa: T201
        f"\n{size:>9,} entries: append {appended:.2f} ms, bare insert {bare:.2f} ms "
        f"({appended / bare:.1f} times); proof of an entry {proved:.2f} ms, of growth "
        f"{extended:.2f} ms"
    )
    assert appended < 10
    assert proved < 20


@pytest.mark.slow
def test_a_check_of_records_and_journal_takes_its_time_by_the_entry(record):
    size = 20_000
    fill(record, size)
    values = {
        field.attname: field.value_from_object(record)
        for field in ApplicationRecord._meta.concrete_fields
        if field.attname != "id"
    }
    for first in range(2, size + 1, BATCH):
        numbers = range(first, min(first + BATCH, size + 1))
        copies = [ApplicationRecord(**values | {"number": number}) for number in numbers]
        ApplicationRecord.objects.bulk_create(copies)

    start = perf_counter()
    verdict = verify_book()
    took = perf_counter() - start

    print(f"\n{size:,} entries with records checked in {took:.1f} s: {size / took:,.0f} a second")  # noqa: T201
    assert (verdict.count, verdict.records) == (0, size)
    assert took / size * 100_000 < 120  # seconds for a hundred thousand; half of it on a free day
