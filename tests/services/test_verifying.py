"""Every table that the journal repeats is held against it: holds, notices, stock, people."""

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from clients.access import Role
from services import journaling
from services.dispatching import recall
from services.holding import hold_visit, lift_hold
from services.journaling import journal_contact, journal_dispatch
from services.models import ContactAttempt, Dispatch, Hold, Outbox
from services.people import add_person, first_owner, let_go, set_role
from services.verifying import verify
from treatments.correcting import agree, correct_record
from treatments.guarding import install_guards
from treatments.handing import file_return, give_copies
from treatments.journaling import journal_certificate
from treatments.models import JournalEntry, RecordSigned, StockEntry
from treatments.recording import amend_application, record_application, void_application
from treatments.rules.records import return_rule
from treatments.signing_off import sign_records
from treatments.storekeeping import count_lot, receive_lot

LEDGER = "treatments_stockentry"
TRIED = "services_contactattempt"
NOON = datetime(2026, 5, 4, 16, tzinfo=UTC)


def run(sql, *arguments):
    with connection.cursor() as cursor:
        cursor.execute(sql, arguments)


def unguarded(sql, *arguments, table):
    for kind in ("no_update", "no_delete"):
        on = f" ON {table}" if connection.vendor == "postgresql" else ""
        run(f"DROP TRIGGER {table}_{kind}{on}")
    run(sql, *arguments)
    install_guards()


def kinds():
    return [
        json.loads(text)["kind"] for text in JournalEntry.objects.values_list("envelope", flat=True)
    ]


def found():
    return [fault.say() for fault in verify().faults]


@pytest.fixture
def store(soap, owner):
    """A lot of which something was received and counted."""
    lot = receive_lot(
        product=soap, amount=Decimal(64), received_on=NOON.date(), by=owner, lot_number="R-1"
    )
    count_lot(lot, counted=Decimal(60), by=owner, note="spilled")
    return lot


def test_lines_of_the_ledger_that_no_record_tells_of_are_entries(store):
    assert kinds() == ["stock", "stock"]
    assert found() == []


@pytest.mark.parametrize("change", ["amount = 63", "note = 'x'", "entered_at = '2001-01-01'"])
def test_a_changed_line_of_the_ledger_is_found(store, change):
    first = StockEntry.objects.get(lot=store, kind="received")

    unguarded(
        f"UPDATE treatments_stockentry SET {change} WHERE id = %s",  # noqa: S608
        first.pk,
        table=LEDGER,
    )

    assert found()[0].startswith(f"entry 0: the table says otherwise of stock {first.pk}: ")


def test_a_removed_and_an_added_line_of_the_ledger_are_found(store):
    unguarded(
        "DELETE FROM treatments_stockentry WHERE kind = 'received' AND lot_id = %s",
        store.pk,
        table=LEDGER,
    )
    added = StockEntry(lot=store, kind="received", amount=Decimal(5), happened_at=NOON)
    added.save()

    said = found()

    assert "its table has not" in said[0]
    assert f"stock {added.pk} of its table has no entry" in said


def test_what_records_draw_follows_from_the_records(stated, owner):
    record = record_application(**stated)
    second = amend_application(record, reason="measured again", by=owner, product_amount=Decimal(8))
    void_application(second, reason="it was never applied", by=owner)

    assert found() == []


@pytest.mark.parametrize("change", ["amount = -8", "happened_at = '2001-01-01'", "lot_id = NULL"])
def test_a_changed_line_of_a_record_is_found(stated, store, change):
    record_application(**stated)
    change = change.replace("NULL", str(store.pk))

    unguarded(
        f"UPDATE treatments_stockentry SET {change} WHERE record_id IS NOT NULL",  # noqa: S608
        table=LEDGER,
    )

    assert "record 1: the ledger does not say what the record drew" in found()


def test_a_removed_or_doubled_line_of_a_record_is_found(stated):
    record = record_application(**stated)
    line = StockEntry.objects.get(record=record)
    unguarded("DELETE FROM treatments_stockentry WHERE id = %s", line.pk, table=LEDGER)
    assert "record 1: the ledger does not say what the record drew" in found()

    for _ in range(2):
        StockEntry(
            lot=line.lot,
            kind="applied",
            amount=line.amount,
            happened_at=line.happened_at,
            record=record,
        ).save()
    assert "record 1: the ledger does not say what the record drew" in found()


@pytest.fixture
def held(visits, owner):
    return hold_visit(visits[1], reason="wind", note="gusts", by=owner, at=NOON)


def test_holds_and_their_ends_are_held_against_their_entries(held, owner):
    lift_hold(held, by=owner, at=NOON)

    assert found() == []


@pytest.mark.parametrize("change", ["note = 'calm'", "set_at = '2001-01-01'"])
def test_a_changed_hold_is_found(held, change):
    run(f"UPDATE services_hold SET {change}")  # noqa: S608

    assert f"the table says otherwise of hold {held.pk}" in found()[0]


def test_a_hold_that_was_ended_or_made_behind_the_books_back_is_found(held, owner):
    run("UPDATE services_hold SET lifted_at = '2026-05-05 10:00+00'")

    assert found() == [f"hold_lifted {held.pk} of its table has no entry"]


def test_a_hold_that_was_removed_is_found(held):
    run("DELETE FROM services_hold")

    assert found() == [f"entry 0: the journal has hold {held.pk}, its table has not"]


def test_a_notice_that_is_said_to_have_gone_out_is_found(held):
    Outbox.objects.create(
        kind=Outbox.Kind.NOTICE, arguments={}, dedupe_key="x", not_before=NOON, done_at=NOON
    )

    assert "of its table has no entry" in found()[0]


@pytest.fixture
def tried(visits, owner):
    """Somebody who was told of a visit by telephone."""
    client = visits[0].course.property.client
    attempt = ContactAttempt(
        visit=visits[0],
        day=visits[0].planned,
        person=f"client {client.pk}",
        name=client.name,
        at=NOON,
        way=ContactAttempt.Way.TELEPHONE,
        outcome=ContactAttempt.Outcome.TOLD,
        made_by=owner,
        form_id=uuid4(),
    )
    attempt.save()
    journal_contact(attempt)
    assert found() == []
    return attempt


@pytest.mark.parametrize("column", ["outcome", "way", "name", "person", "note"])
def test_a_changed_try_to_tell_somebody_is_found(tried, column):
    unguarded(f"UPDATE {TRIED} SET {column} = 'x'", table=TRIED)  # noqa: S608

    assert found()[0].endswith(f"says otherwise of notice {tried.pk}: {column}")


def test_a_try_that_was_removed_and_one_that_was_added_are_found(tried):
    tried.pk, tried.form_id, tried._state.adding = None, uuid4(), True
    tried.save()
    assert found() == [f"notice {tried.pk} of its table has no entry"]

    unguarded(f"DELETE FROM {TRIED}", table=TRIED)  # noqa: S608

    assert "its table has not" in found()[0]


@pytest.fixture
def corrected(stated, owner, applicator):
    """A record of which the owner asked for a correction, and to which somebody agreed."""
    record = record_application(**stated, now=NOON)
    asked = correct_record(
        record, reason="The gauge was misread", by=owner, at=NOON, wind_mph=Decimal(3)
    )
    agree(asked, by=applicator.user, at=NOON)
    assert kinds() == ["record", "correction_asked", "amendment", "correction_answered"]
    assert found() == []
    return asked


@pytest.mark.parametrize(
    ("table", "change", "column"),
    [
        ("treatments_correction", "reason = 'No reason at all'", "reason"),
        ("treatments_correction", "changes = '{}'", "changes"),
        ("treatments_correctionanswer", "note = 'x'", "note"),
    ],
)
def test_a_changed_correction_is_found(corrected, table, change, column):
    unguarded(f"UPDATE {table} SET {change}", table=table)  # noqa: S608

    assert found()[0].endswith(f"{corrected.pk}: {column}")


def test_a_correction_that_was_removed_is_found(corrected):
    unguarded("DELETE FROM treatments_correctionanswer", table="treatments_correctionanswer")

    assert "the journal has correction_answered" in found()[0]


def test_the_command_ends_with_one_for_a_table_that_was_changed(held):
    run("UPDATE services_hold SET note = 'calm'")

    with pytest.raises(CommandError) as error:
        call_command("verify", stdout=StringIO())

    assert error.value.returncode == 1


def test_changes_of_a_role_are_entries_that_name_the_one_before(technician, owner):
    set_role(technician, Role.OFFICE, by=owner)
    let_go(technician, by=owner)

    first, second = JournalEntry.objects.order_by("seq")
    assert kinds() == ["role", "role"]
    assert '"role":"office"' in first.body
    assert '"role":""' in second.body
    assert json.loads(second.envelope)["amends"] == str(first.entry_id)
    assert found() == []


@pytest.fixture
def people(db):
    """A book that its owner signed up for, and a technician of it."""
    owner = first_owner(username="odile", password="one long password to test with")
    return owner, add_person(username="tobit", role=Role.TECHNICIAN, by=owner)


@pytest.mark.parametrize(
    ("sql", "column"),
    [
        ("UPDATE auth_user SET username = 'x' WHERE username = 'tobit'", "username"),
        ("UPDATE auth_user SET is_active = '0' WHERE username = 'tobit'", "role"),
        ("DELETE FROM auth_user_groups WHERE user_id = {person}", "role"),
        ("UPDATE auth_user_groups SET group_id = {owners} WHERE user_id = {person}", "role"),
        (
            "INSERT INTO auth_user_groups (user_id, group_id) VALUES ({person}, {owners})",
            "role",
        ),
    ],
)
def test_a_role_that_is_given_behind_the_books_back_is_found(people, sql, column):
    owner, technician = people
    assert found() == []

    run(sql.format(person=technician.pk, owners=owner.groups.get().pk))

    assert found() == [
        f"entry 1: the table says otherwise of role {technician.pk}: {column}",
    ]


def test_somebody_who_is_added_behind_the_books_back_is_found(people):
    owner, _technician = people
    stranger = type(owner).objects.create(username="nobody")
    assert found() == []

    stranger.groups.add(owner.groups.get())

    assert found() == [f"role {stranger.pk} of its table has no entry"]


def test_a_role_that_does_not_change_makes_no_entry(technician, owner):
    set_role(technician, Role.TECHNICIAN, by=owner)

    assert kinds() == []


def test_a_certificate_that_is_changed_is_another_entry(client, dispatcher, applicator):
    certificate = applicator.certificates.get()
    client.force_login(dispatcher)

    for number in ("PA-1", "PA-2"):
        client.post(
            f"/applicators/{applicator.pk}/certificates/{certificate.pk}/",
            {
                "number": number,
                "jurisdiction": certificate.jurisdiction,
                "categories": certificate.categories,
                "issued_on": "2025-01-01",
                "expires_on": "2029-01-01",
            },
        )

    assert kinds() == ["certificate", "certificate"]
    assert '"number":"PA-2"' in JournalEntry.objects.get(seq=1).body
    assert found() == []


def test_stops_that_are_handed_out_and_taken_back_are_entries(dispatched, owner):
    route = dispatched.dispatch
    journal_dispatch(route, kind="handed out", by=owner, at=NOON)
    recall(route, by=owner)
    recall(route, by=owner)

    assert kinds() == ["dispatch", "dispatch"]
    assert '"change":"taken back"' in JournalEntry.objects.last().body
    assert found() == []


def test_a_stop_that_left_its_route_for_a_reason_is_no_fault(dispatched, owner):
    journal_dispatch(dispatched.dispatch, kind="handed out", by=owner, at=NOON)

    hold_visit(dispatched, reason=Hold.Reason.WIND, by=owner, at=NOON)

    assert kinds() == ["dispatch", "hold"]
    assert found() == []


@pytest.mark.parametrize(
    ("change", "column"),
    [
        ("UPDATE services_dispatch SET day = '2026-01-02'", "day"),
        ("UPDATE services_visit SET arrives_at = '2026-01-02 15:00'", "stops"),
    ],
)
def test_a_route_that_is_changed_behind_the_books_back_is_found(dispatched, owner, change, column):
    route = dispatched.dispatch
    journal_dispatch(route, kind="handed out", by=owner, at=NOON)

    run(change)

    assert found() == [f"entry 0: the table says otherwise of dispatch {route.pk}: {column}"]


def test_a_route_of_which_an_early_entry_names_the_crew_alone_is_no_fault(
    dispatched, owner, monkeypatch
):
    told = journaling.told_dispatch

    def without_number(dispatch):
        return {name: value for name, value in told(dispatch).items() if name != "crew_number"}

    monkeypatch.setattr(journaling, "told_dispatch", without_number)
    journal_dispatch(dispatched.dispatch, kind="handed out", by=owner, at=NOON)

    assert "crew_number" not in JournalEntry.objects.get().body
    assert found() == []


def test_a_route_without_an_entry_is_found(dispatched, owner, crew):
    journal_dispatch(dispatched.dispatch, kind="handed out", by=owner, at=NOON)
    route = Dispatch.objects.get()
    route.pk, route.day = None, date(2030, 1, 2)
    route.save()

    assert found() == [f"dispatch {route.pk} of its table has no entry"]


@pytest.fixture
def handed(stated, applicator, owner):
    """A record that was signed, of which the client has a copy; a return that was filed."""
    noon = datetime(2026, 7, 7, 16, tzinfo=UTC)
    record = record_application(**stated, now=noon)
    sign_records([record], by=applicator.user, at=noon)
    give_copies([record], on=noon.date(), way="hand", by=owner, at=noon)
    year = datetime(2027, 1, 5, tzinfo=UTC)
    rule, first = return_rule("US-NY"), date(2026, 1, 1)
    file_return(rule, first, on=year.date(), how="by post", by=owner, at=year)
    return record


def test_signatures_copies_and_returns_are_held_against_their_entries(handed):
    assert found() == []


@pytest.mark.parametrize(
    ("table", "column", "value", "said"),
    [
        ("recordsigned", "signer_name", "'Somebody Else'", "signature 1: signer_name"),
        ("recordsigned", "certificate_number", "'X-1'", "signature 1: certificate_number"),
        ("recordsigned", "signed_at", "'2026-07-01 16:00:00'", "signature 1: signed_at"),
        ("copygiven", "given_on", "'2026-07-06'", ": given_on"),
        ("copygiven", "way", "'letter'", ": way"),
        ("returnfiled", "how", "'by mail'", ": how"),
        ("returnfiled", "filed_on", "'2027-01-04'", ": filed_on"),
    ],
)
def test_a_changed_signature_copy_or_return_is_found_by_its_column(
    handed, table, column, value, said
):
    table = f"treatments_{table}"
    unguarded(f"UPDATE {table} SET {column} = {value}", table=table)  # noqa: S608

    (fault,) = found()

    assert "the table says otherwise of" in fault
    assert fault.endswith(said)


@pytest.mark.parametrize("table", ["recordsigned", "copygiven", "returnfiled"])
def test_a_removed_signature_copy_or_return_is_found(handed, table):
    table = f"treatments_{table}"
    unguarded(f"DELETE FROM {table}", table=table)  # noqa: S608

    (fault,) = found()

    assert "its table has not" in fault


def test_a_signature_without_an_entry_is_found(handed, stated, applicator):
    second = record_application(**stated, now=datetime(2026, 7, 8, 16, tzinfo=UTC))
    RecordSigned(
        record=second,
        signed_by=applicator.user,
        signed_at=NOON,
        signer_name="N. N.",
        certificate_number="1",
    ).save()

    assert found() == [f"signature {second.number} of its table has no entry"]


def test_a_certificate_that_is_changed_behind_the_books_back_is_found(applicator, owner):
    certificate = applicator.certificates.get()
    journal_certificate(certificate, by=owner, at=NOON)
    certificate.number = "PA-2"
    certificate.save()
    journal_certificate(certificate, by=owner, at=NOON)
    assert found() == []

    type(certificate).objects.update(number="PA-1", expires_on=date(2031, 1, 1))

    (fault,) = found()
    assert fault.endswith(f"certificate {certificate.pk}: expires_on, number")
