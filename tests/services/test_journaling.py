"""Holds, notices and nightly checkpoints: each leaves its trace where nobody can change it."""

import hashlib
import json
from datetime import UTC, datetime, timedelta

import pytest
from django.conf import settings
from django.core import mail

from services import tasks, telling
from services.holding import hold_visit, lift_hold
from services.models import Outbox
from services.telling.checkpoints import keep_checkpoint
from treatments import chain
from treatments.checkpointing import make_checkpoint
from treatments.models import Checkpoint, JournalEntry
from treatments.verifying import verify_book

NOON = datetime(2026, 7, 6, 16, tzinfo=UTC)


@pytest.fixture
def held(visits, owner):
    return hold_visit(visits[0], reason="wind", note="gusts", by=owner, at=NOON)


@pytest.fixture
def mailed_owner(owner):
    owner.email = "owner@willow-ferry.example"
    owner.save()
    return owner


def entries():
    rows = JournalEntry.objects.all()
    return [(json.loads(row.envelope), json.loads(row.body)) for row in rows]


def test_a_hold_and_its_end_are_two_entries(held, owner):
    lift_hold(held, by=owner, at=NOON + timedelta(hours=2))

    (set_envelope, set_body), (lifted, _body) = entries()
    assert (set_envelope["kind"], lifted["kind"]) == ("hold", "hold_lifted")
    assert (set_body["reason"], set_body["note"]) == ("wind", "gusts")
    assert set_envelope["recorded_at"] == "2026-07-06T16:00:00Z"
    assert lifted["amends"] == set_envelope["entry_id"]
    assert lifted["actor"] == f"user:{owner.pk}"
    assert verify_book().count == 0


def test_a_hold_that_stands_already_is_no_second_entry(held, visits, owner):
    hold_visit(visits[0], reason="rain", by=owner, at=NOON)
    lift_hold(held, by=owner, at=NOON)
    lift_hold(held, by=owner, at=NOON)

    assert [envelope["kind"] for envelope, _ in entries()] == ["hold", "hold_lifted"]


def test_the_end_of_a_hold_older_than_the_journal_amends_nothing(visits, owner):
    old = visits[0].holds.create(reason="wind", set_at=NOON, set_by=owner)

    lift_hold(old, by=owner, at=NOON)

    assert [envelope["amends"] for envelope, _ in entries()] == [None]
    assert verify_book().count == 0


def test_a_notice_that_went_out_is_an_entry_with_its_words(visits):
    (row, *_others) = telling.queue_notices(visits[0], now=NOON)

    telling.deliver(row.pk, now=NOON)
    telling.deliver(row.pk, now=NOON)

    ((envelope, body),) = entries()
    assert (envelope["kind"], envelope["actor"]) == ("notice", "system")
    assert body["to"] == mail.outbox[0].to
    assert body["text"] == mail.outbox[0].body


def test_of_a_summary_that_went_out_the_hash_of_its_paper_is_an_entry(done_visit):
    row = telling.queue(
        Outbox.Kind.CLIENT_SUMMARY,
        arguments={"visit": done_visit.pk},
        dedupe_key="client summary:1",
        not_before=NOON,
    )

    telling.deliver(row.pk, now=NOON)

    paper = mail.outbox[0].attachments[0].content
    entry = JournalEntry.objects.latest("seq")
    assert json.loads(entry.envelope)["kind"] == "paper"
    assert hashlib.sha256(paper).hexdigest() in entry.body


def test_a_nightly_checkpoint_is_mailed_to_the_owner(held, mailed_owner):
    kept = keep_checkpoint(now=NOON)

    telling.deliver_due(NOON)

    (letter,) = mail.outbox
    assert letter.to == ["owner@willow-ferry.example"]
    assert kept.text in letter.body
    assert letter.attachments[0][:2] == ("checkpoint-1.txt", kept.text)


def test_a_night_without_entries_makes_no_checkpoint_and_no_mail(held, mailed_owner):
    keep_checkpoint(now=NOON)

    assert keep_checkpoint(now=NOON + timedelta(days=1)) is None
    assert Outbox.objects.filter(kind="checkpoint").count() == Checkpoint.objects.count() == 1


def test_a_day_has_one_checkpoint_however_much_is_kept(held, owner):
    keep_checkpoint(now=NOON)
    lift_hold(held, by=owner, at=NOON)

    assert keep_checkpoint(now=NOON + timedelta(hours=19)) is None
    assert keep_checkpoint(now=NOON + timedelta(hours=21)).size == 2


def test_without_an_address_the_checkpoint_is_kept_and_nothing_waits(held, owner):
    assert keep_checkpoint(now=NOON).size == 1
    assert not Outbox.objects.filter(kind="checkpoint").exists()


def test_an_owner_who_left_is_not_told(held, mailed_owner):
    mailed_owner.is_active = False
    mailed_owner.save()

    keep_checkpoint(now=NOON)

    assert not Outbox.objects.filter(kind="checkpoint").exists()


def test_the_task_of_the_night_may_run_twice(held):
    assert tasks.keep_checkpoint() == 1
    assert tasks.keep_checkpoint() == 0
    assert Checkpoint.objects.get().size == chain.journal_size()


def test_a_checkpoint_that_a_backup_made_is_mailed_as_well(held, mailed_owner):
    make_checkpoint(now=NOON - timedelta(hours=1))

    assert keep_checkpoint(now=NOON).size == 1
    assert keep_checkpoint(now=NOON + timedelta(hours=1)) is None
    assert Outbox.objects.filter(kind="checkpoint").count() == 1


def test_a_checkpoint_whose_mail_failed_is_mailed_later(held, mailed_owner, monkeypatch):
    def hang_up(letter):
        raise OSError("the mail server is gone")

    keep_checkpoint(now=NOON)
    with monkeypatch.context() as broken:
        broken.setattr("django.core.mail.EmailMessage.send", hang_up)
        telling.deliver_due(NOON)
    assert mail.outbox == []

    telling.deliver_due(NOON + timedelta(minutes=2))

    assert len(mail.outbox) == 1


def test_the_clock_beside_the_pages_and_the_one_of_the_broker_make_it_alike():
    (planned,) = [
        each
        for each in settings.CELERY_BEAT_SCHEDULE.values()
        if each["task"] == tasks.keep_checkpoint.name
    ]

    assert planned["schedule"] <= timedelta(hours=1)
