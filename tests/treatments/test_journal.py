"""The journal keeps each record once more, and a check finds whatever was changed."""

import json
from importlib import import_module
from io import StringIO
from threading import Thread
from uuid import UUID

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.db.transaction import TransactionManagementError
from django.utils import timezone
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from treatments import chain
from treatments.checkpointing import make_checkpoint
from treatments.guarding import install_guards
from treatments.models import ApplicationRecord, Checkpoint, JournalEntry
from treatments.recording import amend_application, record_application, void_application
from treatments.rules.checkpoints import Key, check_signature, seed_of
from treatments.rules.journal import entry_id_of
from treatments.rules.merkle import check_consistency, check_inclusion, tree_root
from treatments.verifying import verify_book

REASON = "the lot number was misread"


@pytest.fixture
def record(stated):
    return record_application(**stated)


@pytest.fixture
def journal(record, stated, owner):
    """Five entries: a record, two amendments, a void of them, and another record."""
    second = amend_application(record, reason=REASON, by=owner, note="second")
    third = amend_application(second, reason=REASON, by=owner, note="third")
    void_application(third, reason=REASON, by=owner)
    record_application(**stated)
    return list(JournalEntry.objects.all())


def run(sql, *arguments):
    with connection.cursor() as cursor:
        cursor.execute(sql, arguments)


def unguarded(sql, *arguments, table="treatments_journalentry"):
    """Change a guarded table as its owner could, and leave the guards as they were."""
    with transaction.atomic():
        for kind in ("no_update", "no_delete"):
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            run(f"DROP TRIGGER {table}_{kind}{on}")
        run(sql, *arguments)
        install_guards(only=table)


def leaves():
    return [
        bytes.fromhex(leaf) for leaf in JournalEntry.objects.values_list("leaf_hash", flat=True)
    ]


def kinds():
    return [json.loads(entry.envelope)["kind"] for entry in JournalEntry.objects.all()]


def told():
    """Return how `verify` ends, and what it says."""
    out = StringIO()
    try:
        call_command("verify", stdout=out)
    except CommandError as error:
        return error.returncode, out.getvalue() + str(error)
    return 0, out.getvalue()


def test_a_record_two_amendments_and_a_void_are_four_entries(journal):
    assert kinds() == ["record", "amendment", "amendment", "void", "record"]
    assert [entry.seq for entry in journal] == [0, 1, 2, 3, 4]


def test_an_amendment_names_the_entry_it_corrects(journal):
    envelopes = [json.loads(entry.envelope) for entry in journal]

    assert [each["amends"] for each in envelopes] == [
        None,
        *(each["entry_id"] for each in envelopes[:3]),
        None,
    ]


def test_an_entry_repeats_the_copied_texts_and_says_who_wrote_it(record, stated):
    entry = JournalEntry.objects.get()

    body, envelope = json.loads(entry.body), json.loads(entry.envelope)

    assert body["product_name"] == "Quiet Soap"
    assert body["customer_name"] == "Reading Society"
    assert body["product_amount"] == f"{stated['product_amount']:.3f}"
    assert len(body["salt"]) == 32
    assert envelope["actor"] == chain.actor_of(record.recorded_by)


def test_the_same_event_is_appended_once(stated):
    event = UUID(int=7)

    record_application(**stated, event_id=event)
    record_application(**stated, event_id=event)

    assert JournalEntry.objects.count() == 1


def test_nothing_is_appended_when_the_record_is_not_kept(stated):
    with transaction.atomic():
        record_application(**stated)
        transaction.set_rollback(True)

    assert JournalEntry.objects.count() == ApplicationRecord.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_the_journal_grows_in_a_transaction_only():
    with pytest.raises(TransactionManagementError):
        chain.lock_head()


@pytest.mark.django_db(transaction=True)
def test_what_is_kept_at_the_same_time_stands_in_the_journal_without_a_gap(stated):
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")
    threads = [Thread(target=record_and_close, args=(stated,)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert verify_book().count == 0
    assert chain.journal_size() == 18


def record_and_close(stated):
    for _ in range(3):
        record_application(**stated)
    connection.close()


def test_the_head_is_the_root_over_all_entries(journal):
    head = chain.head()

    assert (head.size, head.root) == (5, tree_root(leaves()))
    assert [chain.head_at(size).root for size in (1, 2, 3)] == [
        tree_root(leaves()[:size]) for size in (1, 2, 3)
    ]


def test_an_empty_journal_has_no_head(db):
    assert chain.head() is None
    assert make_checkpoint(now=timezone.now()) is None


def test_an_entry_and_the_growth_are_proved(journal):
    root = chain.head().root

    check_inclusion(leaves()[2], 2, 5, chain.inclusion_proof_of(2, 5), root)
    check_consistency(3, 5, chain.consistency_proof_of(3, 5), chain.head_at(3).root, root)


def test_a_proof_asks_the_database_once(journal, django_assert_num_queries):
    with django_assert_num_queries(1):
        chain.inclusion_proof_of(2, 5)


def test_a_checkpoint_is_made_when_the_journal_grew(record, stated):
    first = make_checkpoint(now=timezone.now())

    assert make_checkpoint(now=timezone.now()) is None
    record_application(**stated)
    assert make_checkpoint(now=timezone.now()).size == 2
    assert first.text.splitlines()[1] == "1"
    assert first.text.startswith(f"duskbook/journal-{leaves()[0].hex()[:16]}\n")


def test_a_checkpoint_is_signed_where_there_is_a_key(record, settings):
    settings.JOURNAL_KEY = "ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10Q="

    kept = make_checkpoint(now=timezone.now())

    key = Key(kept.text.splitlines()[0], seed_of(settings.JOURNAL_KEY))
    check_signature(kept.text, key.name, key.public())
    assert told()[0] == 0


def test_a_sound_book_ends_with_zero(journal):
    make_checkpoint(now=timezone.now())

    code, said = told()

    assert (code, "All is as it was kept." in said) == (0, True)
    assert said.startswith("5 entries, 5 records, 1 checkpoints, root ")


def test_an_empty_book_is_sound(db):
    assert told()[0] == 0


CHANGES = {
    "body": "the body is not the one of the envelope",
    "envelope": "the hash is not that of the envelope",
    "leaf_hash": "the hash is not that of the envelope",
    "subtree_hash": "the hash over the entries before it does not fit",
    "body_sha256": "the digest beside the body is not its own",
}


@pytest.mark.parametrize("column", CHANGES)
@pytest.mark.parametrize("seq", [0, 2, 4])
def test_a_changed_entry_is_found_and_named(journal, seq, column):
    text = getattr(journal[seq], column)
    changed = ("0" if text[0] != "0" else "1") + text[1:]

    unguarded(
        f"UPDATE treatments_journalentry SET {column} = %s WHERE seq = %s",  # noqa: S608
        changed,
        seq,
    )

    code, said = told()
    assert code == 1
    assert f"First: entry {seq}, record {seq + 1}: " in said
    assert CHANGES[column] in said


@pytest.mark.parametrize("seq", [0, 2, 4])
def test_a_removed_entry_is_found_and_named(journal, seq):
    unguarded("DELETE FROM treatments_journalentry WHERE seq = %s", seq)

    code, said = told()

    assert code == 1
    assert f"First: entry {seq}, record {seq + 1}: " in said


def test_two_entries_that_changed_places_are_found(journal):
    for old, new in ((1, 99), (2, 1), (99, 2)):
        unguarded("UPDATE treatments_journalentry SET seq = %s WHERE seq = %s", new, old)

    code, said = told()

    assert code == 1
    assert "First: entry 1, record 3: the envelope is that of another entry" in said


def test_a_dropped_trigger_is_found(journal):
    on = " ON treatments_journalentry" if connection.vendor == "postgresql" else ""
    run(f"DROP TRIGGER treatments_journalentry_no_update{on}")

    code, said = told()

    assert code == 1
    assert "First: the trigger treatments_journalentry_no_update is missing" in said


@pytest.mark.parametrize(
    ("column", "changed"), [("root", "0" * 64), ("text", "nothing"), ("size", 3)]
)
def test_a_changed_checkpoint_is_found(journal, column, changed):
    make_checkpoint(now=timezone.now())
    unguarded(
        f"UPDATE treatments_checkpoint SET {column} = %s",  # noqa: S608
        changed,
        table="treatments_checkpoint",
    )

    code, said = told()

    assert code == 1
    assert "checkpoint" in said


@pytest.mark.parametrize("column", ["note", "applicator_name", "customer_name"])
def test_a_changed_record_is_found_by_its_entry(journal, column):
    unguarded(
        f"UPDATE treatments_applicationrecord SET {column} = 'x' WHERE number = 3",  # noqa: S608
        table="treatments_applicationrecord",
    )

    code, said = told()

    assert code == 1
    assert f"First: entry 2, record 3: the table says otherwise of {column}" in said


def cut_back():
    """Take the last record and its entry away, as one who owns the database file could."""
    unguarded(
        "DELETE FROM treatments_stockentry WHERE record_id = "
        "(SELECT id FROM treatments_applicationrecord WHERE number = 5)",
        table="treatments_stockentry",
    )
    unguarded("DELETE FROM treatments_journalentry WHERE seq = 4")
    unguarded(
        "DELETE FROM treatments_applicationrecord WHERE number = 5",
        table="treatments_applicationrecord",
    )


def test_a_journal_that_was_cut_back_is_found_by_a_copy_from_outside_alone(journal, tmp_path):
    copy = tmp_path / "checkpoint"
    copy.write_text(chain.head().text(), encoding="utf-8")

    cut_back()

    assert told()[0] == 0
    with pytest.raises(CommandError, match="entry 4: the checkpoint counts 5") as error:
        call_command("verify", checkpoint=[copy], stdout=StringIO())
    assert error.value.returncode == 1


def test_a_journal_that_was_written_anew_is_found_by_a_copy_from_outside(journal, stated):
    copy = chain.head().text()
    cut_back()
    record_application(**stated)

    assert verify_book().count == 0
    assert "what the checkpoint after 5 entries vouches for" in verify_book([copy]).first().say()


def test_a_journal_that_grew_since_extends_the_copy_from_outside(record, stated):
    copy = chain.head().text()

    record_application(**stated)

    assert verify_book([copy]).count == 0


def test_the_copy_of_another_book_is_refused(journal):
    other = chain.head().text().replace("journal-", "journal-0")

    assert "the checkpoint is one of" in verify_book([other]).first().say()


@pytest.mark.parametrize("content", ["", "no checkpoint", None])
def test_a_check_that_cannot_be_made_ends_with_two(journal, tmp_path, content):
    file = tmp_path / "checkpoint"
    if content is not None:
        file.write_text(content, encoding="utf-8")

    with pytest.raises(CommandError) as error:
        call_command("verify", checkpoint=[file], stdout=StringIO())

    assert error.value.returncode == 2


def test_records_older_than_the_journal_are_appended_by_number(journal):
    migration = import_module("treatments.migrations.0010_the_journal")
    unguarded("DELETE FROM treatments_journalentry")

    migration.append_kept_records(apps, None)

    assert kinds() == ["record", "amendment", "amendment", "void", "record"]
    assert verify_book().count == 0


@pytest.fixture
def triggers_not_recursive(db):
    """A connection of another program, on which REPLACE walks past a delete trigger."""
    if connection.vendor == "sqlite":
        run("PRAGMA recursive_triggers=OFF")
    yield
    if connection.vendor == "sqlite":
        run("PRAGMA recursive_triggers=ON")


@pytest.mark.parametrize("column", ["seq", "entry_id"])
@pytest.mark.usefixtures("triggers_not_recursive")
def test_an_entry_is_not_replaced_by_what_names_it(journal, column):
    new = {"id": "id + 100", "seq": "seq + 100", "entry_id": f"'{UUID(int=7)}'"}
    told = ", ".join(name if name == column else new[name] for name in new)
    replace = "REPLACE" if connection.vendor == "sqlite" else "INSERT"

    with pytest.raises(DatabaseError), transaction.atomic():
        run(
            f"{replace} INTO treatments_journalentry "  # noqa: S608
            "(id, seq, entry_id, envelope, leaf_hash, subtree_hash, body, body_sha256) "
            f"SELECT {told}, envelope, leaf_hash, subtree_hash, body, body_sha256 "
            "FROM treatments_journalentry WHERE seq = 1"
        )

    assert verify_book().count == 0


def test_hostile_texts_are_kept_in_the_journal(stated):
    record_application(**stated, note="Å and A\u030a\r\n\x07 \x7f 😀 <b>")

    body = json.loads(JournalEntry.objects.get().body)

    assert body["note"] == "Å and Å\n\ufffd \x7f 😀 <b>"
    assert verify_book().count == 0


def test_a_checkpoint_is_kept_for_good(record):
    checkpoint = make_checkpoint(now=timezone.now())

    with pytest.raises(ValidationError):
        checkpoint.save()
    with pytest.raises(ValidationError):
        Checkpoint.objects.all().delete()


PARTS = ["body", "envelope", "leaf_hash", "subtree_hash", "body_sha256", "text", "root", "order"]


@settings(
    max_examples=120,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    part=st.sampled_from(PARTS),
    seq=st.integers(0, 4),
    place=st.integers(0, 4_000),
    flip=st.integers(1, 255),
)
def test_any_single_byte_that_is_changed_in_the_database_is_found(journal, part, seq, place, flip):
    """Really changed, by one who owns the file: bytes that are no text any more as well."""
    make_checkpoint(now=timezone.now())
    with transaction.atomic():
        assume(change_a_byte(part, seq, place, flip))
        verdict = verify_book()
        transaction.set_rollback(True)

    assert verdict.count > 0
    if part in PARTS[:5]:
        assert verdict.first().seq == seq


def change_a_byte(part, seq, place, flip):
    """Change one byte of a column, or the places of two entries; say whether that was possible."""
    if part == "order":
        other = place % 5
        for old, new in ((seq, 99), (other, seq), (99, other)):
            unguarded("UPDATE treatments_journalentry SET seq = %s WHERE seq = %s", new, old)
        return other != seq
    is_entry = part in PARTS[:5]
    table = "treatments_journalentry" if is_entry else "treatments_checkpoint"
    where = f"seq = {seq}" if is_entry else "size = 5"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {part} FROM {table} WHERE {where}")  # noqa: S608
        data = bytearray(cursor.fetchone()[0].encode())
    data[place % len(data)] ^= flip
    sql = f"UPDATE {table} SET {part} = %s WHERE {where}"  # noqa: S608
    if connection.vendor == "sqlite":  # which takes any bytes for a text
        unguarded(sql.replace("= %s", "= CAST(%s AS TEXT)"), bytes(data), table=table)
        return True
    text = data.decode("utf-8", "replace")
    is_refused = "\0" in text or "\N{REPLACEMENT CHARACTER}" in text
    if not is_refused:
        unguarded(sql, text, table=table)
    return not is_refused


def test_an_entry_that_somebody_else_appended_is_seen(record, stated):
    """What a thread remembers of the end is a guess that the database answers."""
    record_application(**stated)
    chain._LIKELY.size = 1  # as in a worker that appended long ago

    third = record_application(**stated)

    assert JournalEntry.objects.get(entry_id=entry_id_of("record", third.number)).seq == 2
    assert verify_book().faults == []


def test_a_guess_beyond_the_end_is_seen(record, stated):
    chain._LIKELY.size = 9  # as after entries that were taken back

    second = record_application(**stated)

    assert JournalEntry.objects.get(entry_id=entry_id_of("record", second.number)).seq == 1
    assert verify_book().faults == []
