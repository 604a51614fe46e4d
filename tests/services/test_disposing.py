"""Holds, notices and tries to tell somebody go after their time; that they were stays."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO
from uuid import UUID

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction

from services.disposing import dispose_of_past, past_their_time
from services.holding import hold_visit, lift_hold
from services.journaling import CONTACT, journal_contact
from services.models import ContactAttempt, Hold
from services.verifying import verify
from treatments.disposing import dispose_of_entry
from treatments.models import EntryDisposal, JournalEntry
from treatments.verifying import verify_export

THEN = datetime(2017, 5, 2, 16, tzinfo=UTC)
AFTER = datetime(2026, 5, 4, 12, tzinfo=UTC)


@pytest.fixture
def old_visit(visits):
    visit = visits[0]
    type(visit).objects.filter(pk=visit.pk).update(planned=THEN.date(), earliest=THEN.date())
    visit.refresh_from_db()
    return visit


@pytest.fixture
def lifted(old_visit, owner):
    hold = hold_visit(old_visit, reason="wind", note="gusts at Mrs Reading's", by=owner, at=THEN)
    lift_hold(hold, by=owner, at=THEN + timedelta(hours=1))
    return hold


@pytest.fixture
def tried(old_visit, owner):
    attempt = ContactAttempt(
        visit=old_visit,
        day=THEN.date(),
        person="neighbour:1",
        name="Mrs Reading",
        at=THEN,
        way=ContactAttempt.Way.TELEPHONE,
        outcome=ContactAttempt.Outcome.TOLD,
        note="asks for a call",
        made_by=owner,
        form_id=UUID(int=1),
    )
    with transaction.atomic():
        attempt.save()
        journal_contact(attempt)
    return attempt


def texts():
    kept = JournalEntry.objects.exclude(body=None).values_list("body", flat=True)
    return " ".join(kept)


def test_seven_years_are_kept_and_the_day_after_may_go(lifted, tried):
    assert list(past_their_time(date(2024, 5, 2))) == []
    assert {each.nouns[0] for each in past_their_time(date(2024, 5, 3))} == {"hold", CONTACT}


def test_a_hold_that_still_stands_is_kept(old_visit, owner):
    hold_visit(old_visit, reason="wind", by=owner, at=THEN)

    assert list(past_their_time(AFTER.date())) == []


def test_words_go_and_the_leaf_stays(lifted, tried, owner):
    leaves = list(JournalEntry.objects.values_list("leaf_hash", flat=True))

    assert dispose_of_past(owner, AFTER) == 2

    assert "Reading" not in texts()
    assert list(JournalEntry.objects.values_list("leaf_hash", flat=True))[: len(leaves)] == leaves
    assert Hold.objects.get().note == ""
    attempt = ContactAttempt.objects.get()
    assert (attempt.name, attempt.note, attempt.person) == ("", "", "neighbour:1")
    assert verify().count == 0


def test_a_second_time_disposes_of_nothing(lifted, tried, owner):
    dispose_of_past(owner, AFTER)
    size = JournalEntry.objects.count()

    assert dispose_of_past(owner, AFTER) == 0
    assert JournalEntry.objects.count() == size


def test_before_its_time_nothing_goes(lifted, owner):
    with pytest.raises(ValidationError, match="kept until"):
        dispose_of_entry("hold", lifted.pk, keep_until=AFTER.date(), by=owner, at=AFTER)

    assert dispose_of_past(owner, datetime(2024, 5, 2, 12, tzinfo=UTC)) == 0
    assert EntryDisposal.objects.count() == 0
    assert verify().count == 0


@pytest.mark.parametrize("change", ["name = 'x'", "note = 'x'", "outcome = ''", "person = ''"])
def test_the_database_lets_nothing_pass_but_the_blanking(tried, owner, change):
    with pytest.raises(DatabaseError), transaction.atomic():
        models.QuerySet(ContactAttempt).update(name="", note="")
    dispose_of_past(owner, AFTER)

    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE services_contactattempt SET {change}")  # noqa: S608


def test_an_export_after_it_is_as_it_was_kept(lifted, tried, owner, tmp_path):
    dispose_of_past(owner, AFTER)
    file = tmp_path / "journal.jsonl"

    call_command("export_journal", file, stdout=StringIO())

    assert verify_export(file).count == 0
    assert "Reading's" not in file.read_text(encoding="utf-8")


def test_the_owners_page_tells_of_them_and_disposes_when_told_to(lifted, tried, owner, client):
    client.force_login(owner)

    shown = client.get("/records/past/").content.decode()
    client.post("/records/past/", {"others": "yes"})
    assert EntryDisposal.objects.count() == 0
    client.post("/records/past/", {"others": "yes", "sure": "yes"})

    assert "2 holds and notices" in shown
    assert EntryDisposal.objects.count() == 3


def test_the_command_lists_and_disposes_only_when_told_to(lifted, tried):
    out = StringIO()

    call_command("dispose", stdout=out)
    assert EntryDisposal.objects.count() == 0
    call_command("dispose", "--confirm", stdout=out)

    assert f"hold {lifted.pk}, kept until 2024-05-02" in out.getvalue()
    assert "0 records, 2 holds and notices" in out.getvalue()
