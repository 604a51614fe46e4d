"""What keeping a record costs beside a bare insert, and how long a check and a proof take.

Run by name: `pytest tests/benchmarks/bench_journal.py -s`; it takes minutes and some gigabytes.
The book is filled with copies of one invented record, each with its entry, by fast means; what is
compared is compared within one run.  Speeds of a check are told by the seconds of processor that
this process took, so that a busy machine does not change them; what PostgreSQL's own processes take
is beside that.
"""

import json
import resource
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from time import perf_counter, process_time
from uuid import UUID, uuid4

import pytest
from django.db import connection, transaction

from services.field.photos import original_of
from services.journaling import journal_dispatch, journal_photos
from services.models import Device, Dispatch, FieldEvent, FieldPhoto, Outbox
from services.verifying import verify
from treatments import chain
from treatments.models import ApplicationRecord, JournalEntry, StockEntry
from treatments.recording import record_application
from treatments.recording.entries import append_record
from treatments.recording.numbering import lock_records, next_number
from treatments.rules.journal import entry_text_of
from treatments.rules.merkle import Frontier, leaf_hash
from treatments.verifying import verify_book
from treatments.verifying.rows import CHUNK, rows_of

BATCH = 5_000
PHOTOS_AN_EVENT = 10
RECORDS = ApplicationRecord._meta.db_table
ROUNDS = 60
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def record(stated):
    return record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))


def fill(record, first, end):
    """Put copies of a record in the book, with the numbers from `first` to the one before `end`.

    Each has its entry and its ledger line; some thousand share a planting and a lot of their own.
    """
    names = [
        field.column
        for field in ApplicationRecord._meta.concrete_fields
        if field.column not in {"id", "number", "planting_id", "lot_id"}
    ]
    columns = ", ".join(names)
    head = chain.journal_size()
    tree = Frontier(head, chain.peaks(head))
    body, envelope = halves_of(record)
    for start in range(first, end, BATCH):
        numbers = range(start, min(start + BATCH, end))
        with transaction.atomic(), connection.cursor() as cursor:
            own = {
                "planting": copied(record.planting, name=f"Invented bed {numbers[0]}"),
                "lot": copied(record.lot, lot_number=f"INVENTED-{numbers[0]}"),
            }
            cursor.execute(
                f"INSERT INTO {RECORDS} (number, planting_id, lot_id, {columns}) "  # noqa: S608
                f"WITH RECURSIVE n(number) AS (SELECT {numbers[0]} UNION ALL "
                f"SELECT number + 1 FROM n WHERE number < {numbers[-1]}) "
                f"SELECT n.number, {own['planting']}, {own['lot']}, {columns} "
                f"FROM n, {RECORDS} r WHERE r.number = {record.number}"
            )
            cursor.execute(
                f"INSERT INTO {StockEntry._meta.db_table} (lot_id, kind, amount, "  # noqa: S608
                "happened_at, entered_at, entered_by_id, record_id, note) SELECT lot_id, "
                "'applied', -product_amount, done_at, received_at, recorded_by_id, id, '' "
                f"FROM {RECORDS} WHERE number BETWEEN {numbers[0]} AND {numbers[-1]}"
            )
            cursor.executemany(
                f"INSERT INTO {JournalEntry._meta.db_table} (seq, entry_id, envelope, "  # noqa: S608
                "leaf_hash, subtree_hash, body, body_sha256) VALUES (%s, %s, %s, %s, %s, %s, %s)",
                [copy_of(number, tree, body, envelope, own) for number in numbers],
            )
    if connection.vendor == "postgresql":  # which plans by what it knows, and looks now and then
        with connection.cursor() as cursor:
            cursor.execute(f"ANALYZE {RECORDS}, {JournalEntry._meta.db_table}")


def copied(row, **changes):
    """Write a row once more with some changes and return its id."""
    values = {field.attname: field.value_from_object(row) for field in row._meta.concrete_fields}
    return type(row).objects.create(**values | {"id": None} | changes).pk


def halves_of(record):
    """Return body and envelope of a record, with places for what differs from copy to copy."""
    entry = JournalEntry.objects.get(entry_id=entry_text_of("record", record.number))
    body = entry.body.replace("%", "%%")
    for key, value in (
        ("number", record.number),
        ("planting_id", record.planting_id),
        ("lot_id", record.lot_id),
    ):
        body = body.replace(f'"{key}":{value},', f'"{key}":%({key.removesuffix("_id")})s,')
    told = json.loads(entry.envelope)
    envelope = (
        entry.envelope.replace(told["body_sha256"], "%(digest)s")
        .replace(told["entry_id"], "%(entry_id)s")
        .replace(f'"seq":{entry.seq},', '"seq":%(seq)s,')
    )
    return body, envelope


def copy_of(number, tree, body, envelope, own):
    text = body % {"number": number, **own}
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
    """Insert one small row and commit it: the least that any program must do to keep a fact."""
    with transaction.atomic():
        Outbox(
            kind=Outbox.Kind.CREW_SHEET, arguments={}, dedupe_key=str(uuid4()), not_before=NOON
        ).save(force_insert=True)


def keepers(record, lot):
    """Return two acts: to insert a composed record's row alone, and to keep it.

    Keeping it is its row, entry, ledger line and mail, in one transaction.
    """
    values = {
        field.attname: field.value_from_object(record)
        for field in ApplicationRecord._meta.concrete_fields
        if field.attname not in {"id", "number", "recorded_by_id"}
    }
    values["recorded_by"] = record.recorded_by  # whom the one who keeps a record has at hand

    @transaction.atomic
    def insert(_):
        ApplicationRecord(**values, number=next_number()).save(force_insert=True)

    @transaction.atomic
    def keep(_):
        lock_records()
        copy = ApplicationRecord(**values, number=next_number())
        copy.save(force_insert=True)
        StockEntry(
            lot=lot,
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

    return insert, keep


@pytest.mark.parametrize("sizes", [(1_000, 10_000, 100_000), (1_000, 1_000_000)])
def test_keeping_a_record_takes_the_same_however_long_the_book_is(
    record, stated, sizes, record_property
):
    ratios, filled = [], 2
    insert, keep = keepers(record, stated["lot"])
    for size in sizes:
        fill(record, max(filled, next_record()), size + 1)
        filled = size + 1
        small, bare, kept, whole = alternately(
            [bare_insert, insert, keep, lambda _: record_application(**stated)]
        )
        grown = chain.journal_size()
        proved = times(lambda number, grown=grown: chain.inclusion_proof_of(number * 3, grown), 50)
        extended = times(
            lambda number, size=size, grown=grown: chain.consistency_proof_of(size - number, grown),
            50,
        )
        ratios.append(bare / kept)
        print(  # noqa: T201
            f"\n{size:>9,} records, {connection.vendor}: a small row {small:.2f} ms, a record's "
            f"row {bare:.2f} ms, a record kept {kept:.2f} ms ({bare / kept:.2f} of the rate of its "
            f"row, {small / kept:.2f} of a small one), with copying and checks {whole:.1f} ms; "
            f"proof of an entry {proved:.2f} ms, of growth {extended:.2f} ms"
        )
        assert max(proved, extended) < 50
    record_property(f"a record kept, up to {max(sizes):,}, beside its bare row", 0.4 / min(ratios))
    assert min(ratios) >= 0.4
    assert min(ratios) > max(ratios) / 2  # as fast in a long book as in a short one


def next_record():
    return (ApplicationRecord.objects.order_by("-number").values_list("number", flat=True)[0]) + 1


def read_and_hashed(size):
    """Read each entry and record and hash the entry: the least that any check must do."""
    for start in range(0, size, CHUNK):
        places = [start, start + CHUNK]
        sql = f"SELECT body, envelope FROM {JournalEntry._meta.db_table}"  # noqa: S608
        for body, envelope in rows_of(f"{sql} WHERE seq >= %s AND seq < %s", places):
            sha256(body.encode()), sha256(envelope.encode())
        rows_of(f"SELECT * FROM {RECORDS} WHERE number >= %s AND number < %s", places)  # noqa: S608


def keep_photos(person, folder, photos, size):
    """Put so many photos of a size into the book, ten an event, each with its file."""
    device = Device.objects.create(
        person=person,
        name="Invented phone",
        code_digest="0" * 64,
        code_ends_at=NOON,
        made_at=NOON,
        made_by=person,
    )
    told = {"device": device, "person": person, "kind": "note", "received_at": NOON}
    for number in range(photos // PHOTOS_AN_EVENT):
        with transaction.atomic():
            event = FieldEvent.objects.create(
                event_id=uuid4(),
                device_seq=number + 1,
                fingerprint="0" * 64,
                told="{}",
                result="accepted",
                **told,
            )
            for place in range(PHOTOS_AN_EVENT):
                content = (number * PHOTOS_AN_EVENT + place).to_bytes(8) * (size // 8)
                photo = FieldPhoto.objects.create(
                    event=event,
                    device=device,
                    sha256=sha256(content).hexdigest(),
                    size=len(content),
                    kept_at=NOON,
                    kind="jpg",
                )
                path = original_of(photo, folder)
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content)
            journal_photos(event, NOON)


def keep_routes(crew, owner, routes):
    """Give a crew so many days, each with its entry."""
    for number in range(routes):
        with transaction.atomic():
            route = Dispatch.objects.create(
                crew=crew,
                day=NOON.date() + timedelta(days=number),
                made_at=NOON,
                leaves_yard_at=NOON,
                returns_at=NOON + timedelta(hours=8),
            )
            journal_dispatch(route, kind="given", by=owner, at=NOON)


def hashed(folder):
    """Read and hash each file: the least that any check of photos must do."""
    for path in folder.rglob("*"):
        if path.is_file():
            sha256(path.read_bytes())


@pytest.mark.parametrize(("photos", "size", "routes"), [(2_000, 500_000, 2_000)])
def test_a_check_of_photos_and_routes_takes_its_time_by_the_file(
    crew, owner, tmp_path, photos, size, routes, record_property
):
    keep_photos(owner, tmp_path, photos, size)
    keep_routes(crew, owner, routes)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    verdicts = []
    least, _ = processor(lambda: hashed(tmp_path))
    took, waited = processor(lambda: verdicts.append(verify(photos=tmp_path)))

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(  # noqa: T201
        f"\n{photos:,} photos of {size:,} bytes and {routes:,} routes checked on "
        f"{connection.vendor} in {took:.1f} s of one core ({waited:.1f} s by the clock), "
        f"{least / took:.2f} of the rate of hashing the files alone; {most / 1024:.0f} MB at most, "
        f"{before / 1024:.0f} MB before"
    )
    assert verdicts[0].count == 0
    record_property(f"{photos:,} photos checked, beside hashing", 0.4 * took / least)
    record_property(f"{photos:,} photos checked, in memory", most / (300 * 1024))
    assert most < 300 * 1024
    assert least / took > 0.4


def processor(act):
    """Return how many seconds of processor an act takes, and how many by the clock."""
    start, began = process_time(), perf_counter()
    act()
    return process_time() - start, perf_counter() - began


@pytest.mark.parametrize("size", [100_000, 1_000_000])
def test_a_check_of_records_and_journal_takes_its_time_by_the_entry(record, size, record_property):
    fill(record, 2, size + 1)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    verdicts = []
    least, _ = processor(lambda: read_and_hashed(size))
    took, waited = processor(lambda: verdicts.append(verify_book()))

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(  # noqa: T201
        f"\n{size:,} entries with records checked on {connection.vendor} in {took:.1f} s of one "
        f"core ({waited:.1f} s by the clock): {size / took:,.0f} a second, {least / took:.2f} of "
        f"the rate of reading and hashing alone; {most / 1024:.0f} MB at most, "
        f"{before / 1024:.0f} MB before"
    )
    assert (verdicts[0].count, verdicts[0].records) == (0, size)
    record_property(f"{size:,} entries checked, beside reading and hashing", 0.4 * took / least)
    record_property(f"{size:,} entries checked, in memory", most / (300 * 1024))
    assert most < 300 * 1024
    assert least / took > 0.4
