"""Nothing is destroyed before its time; after it body and salt go and the leaf stays."""

from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.models import ProtectedError

from treatments import chain
from treatments.disposing import dispose_of, kept_until, past_their_time
from treatments.models import ApplicationRecord, Disposal, JournalEntry, StockEntry
from treatments.recording import amend_application, record_application
from treatments.verifying import verify_book, verify_export

OLD = {
    "started_at": datetime(2018, 2, 28, 15, tzinfo=UTC),
    "done_at": datetime(2018, 2, 28, 16, tzinfo=UTC),
    "captured_at": datetime(2018, 2, 28, 16, tzinfo=UTC),
}
AFTER = datetime(2026, 5, 4, 12, tzinfo=UTC)


@pytest.fixture
def old(stated):
    return record_application(**stated | OLD, note="ask for Mrs Reading", now=OLD["done_at"])


@pytest.fixture
def young(stated, old):
    return record_application(**stated)


def run(sql, *arguments):
    with connection.cursor() as cursor:
        cursor.execute(sql, arguments)


def test_a_record_is_kept_seven_years_and_then_need_not_be(old, young):
    assert kept_until(old) == date(2025, 2, 28)
    assert list(past_their_time(date(2025, 2, 28))) == []
    assert [each.record for each in past_their_time(date(2025, 3, 1))] == [old]


def test_of_the_last_of_february_the_later_reading_holds(stated):
    leap = datetime(2028, 2, 29, 16, tzinfo=UTC)
    record = record_application(**stated | dict.fromkeys(OLD, leap), now=leap)

    assert kept_until(record) == date(2035, 3, 1)


def test_an_amendment_is_kept_with_what_it_amends(stated, old, owner):
    second = amend_application(
        old, reason="done in another year", by=owner, **dict.fromkeys(OLD, AFTER)
    )

    assert kept_until(old) == kept_until(second) == date(2033, 5, 4)


@pytest.mark.parametrize("day", [date(2019, 1, 1), date(2025, 2, 28)])
def test_before_its_time_a_record_is_not_disposed_of(old, owner, day):
    with pytest.raises(ValidationError, match="is kept until"):
        dispose_of([old], by=owner, at=datetime.combine(day, AFTER.timetz()))

    assert verify_book().count == 0
    assert JournalEntry.objects.get().body is not None


def test_one_that_must_be_kept_stops_all(old, young, owner):
    with pytest.raises(ValidationError):
        dispose_of([old, young], by=owner, at=AFTER)

    assert Disposal.objects.count() == 0


def test_after_its_time_body_salt_and_texts_go_and_the_leaf_stays(old, young, owner):
    leaf = JournalEntry.objects.get(seq=0).leaf_hash

    assert dispose_of([old], by=owner, at=AFTER) == 1

    entry, record = JournalEntry.objects.get(seq=0), ApplicationRecord.objects.get(number=1)
    assert (entry.body, entry.leaf_hash) == (None, leaf)
    assert (record.note, record.customer_name, record.applicator_name) == ("", "", "")
    assert record.product_amount == old.product_amount
    assert verify_book().count == 0


def test_a_second_time_disposes_of_nothing(old, owner):
    dispose_of([old], by=owner, at=AFTER)

    assert dispose_of([old], by=owner, at=AFTER) == 0
    assert chain.journal_size() == 2


def test_an_amended_record_is_disposed_of_with_its_amendment(stated, old, owner):
    second = amend_application(old, reason="the note was wrong", by=owner, note="x", now=AFTER)

    dispose_of([old, second], by=owner, at=AFTER)

    assert verify_book().count == 0
    assert ApplicationRecord.objects.for_user(owner).count() == 0


def test_the_ledger_stays_as_it_was(old, owner, soap_lot):
    before = soap_lot.left()

    dispose_of([old], by=owner, at=AFTER)

    assert soap_lot.left() == before
    assert StockEntry.objects.filter(record=old).exists()


def test_a_body_that_is_missing_without_a_disposal_is_found(old, young, owner):
    on = " ON treatments_journalentry" if connection.vendor == "postgresql" else ""
    run(f"DROP TRIGGER treatments_journalentry_no_update{on}")
    dispose_of([old], by=owner, at=AFTER)
    run("UPDATE treatments_journalentry SET body = NULL WHERE seq = 1")

    said = [fault.say() for fault in verify_book().faults]

    assert "entry 1, record 2: the body is missing" in said
    assert not any("entry 0" in sentence for sentence in said)


CHANGES = [
    ("treatments_journalentry", "body = NULL", "seq = 1"),
    ("treatments_journalentry", "body = 'x'", "seq = 0"),
    ("treatments_journalentry", "body = NULL, leaf_hash = 'x'", "seq = 0"),
    ("treatments_applicationrecord", "note = ''", "number = 2"),
    ("treatments_applicationrecord", "note = 'x'", "number = 1"),
    ("treatments_applicationrecord", "product_amount = 1", "number = 1"),
    ("treatments_applicationrecord", "number = 9", "number = 1"),
    ("treatments_disposal", "keep_until = '2000-01-01'", "1 = 1"),
]


@pytest.mark.parametrize(("table", "change", "where"), CHANGES)
def test_the_database_lets_nothing_pass_but_the_blanking(old, young, owner, table, change, where):
    dispose_of([old], by=owner, at=AFTER)

    with pytest.raises(DatabaseError), transaction.atomic():
        run(f"UPDATE {table} SET {change} WHERE {where}")  # noqa: S608


def test_the_database_refuses_a_disposal_before_its_time(old, owner):
    too_early = Disposal(
        record=old,
        entry_id=JournalEntry.objects.get().entry_id,
        keep_until=date(2025, 2, 28),
        disposed_on=date(2025, 2, 28),
        disposed_by=owner,
    )

    with pytest.raises(DatabaseError), transaction.atomic():
        too_early.save()


def test_neither_client_nor_product_nor_person_of_a_record_can_be_deleted(old, reading_society):
    for thing in (reading_society, old.product, old.lot, old.applicator, old.recorded_by):
        with pytest.raises(ProtectedError):
            thing.delete()


def test_an_export_with_a_disposal_is_as_it_was_kept(old, young, owner, tmp_path):
    dispose_of([old], by=owner, at=AFTER)
    file = tmp_path / "journal.jsonl"

    call_command("export_journal", file, stdout=StringIO())

    assert verify_export(file).count == 0
    assert "Mrs Reading" not in file.read_text(encoding="utf-8")


def test_the_owner_sees_what_is_past_and_disposes_of_what_was_marked(old, young, owner, client):
    client.force_login(owner)

    shown = client.get("/records/past/").content.decode()
    client.post("/records/past/", {"record": ["1"], "sure": "yes"})

    assert "Reading Society" in shown
    assert 'value="2"' not in shown
    assert Disposal.objects.get().record == old
    assert "Reading Society" not in client.get("/records/past/").content.decode()


@pytest.mark.parametrize("sent", [{"record": ["1"]}, {"record": ["2"], "sure": "yes"}, {}])
def test_the_page_disposes_of_nothing_unconfirmed_or_before_its_time(
    old, young, owner, client, sent
):
    client.force_login(owner)

    client.post("/records/past/", sent)

    assert Disposal.objects.count() == 0


def test_the_command_lists_and_disposes_only_when_told_to(old, young):
    out = StringIO()

    call_command("dispose", stdout=out)
    assert Disposal.objects.count() == 0
    call_command("dispose", confirm=True, stdout=out)

    assert Disposal.objects.get().record == old
    assert "record 1, kept until 2025-02-28" in out.getvalue()
