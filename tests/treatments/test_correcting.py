"""Corrections that take somebody's approval: who asks, who agrees, and what the journal keeps."""

import json
from datetime import UTC, datetime
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from treatments.correcting import agree, ask_to_void, correct_record, decline
from treatments.models import ApplicationRecord, Certificate, Correction, JournalEntry
from treatments.recording import record_application

AT = datetime(2026, 7, 7, 12, tzinfo=UTC)
REASON = "The tank held two gallons, not three."


@pytest.fixture
def record(stated):
    return record_application(**stated)


def ask(record, by, **others):
    return correct_record(record, reason=REASON, by=by, at=AT, mix_gallons=Decimal(2), **others)


def kinds():
    return [json.loads(entry.envelope)["kind"] for entry in JournalEntry.objects.all()]


def test_an_applicator_corrects_what_he_applied_alone(record, applicator):
    second = ask(record, applicator.user)

    assert (second.amends, second.approved_by) == (record, None)


@pytest.mark.parametrize("who", ["owner", "dispatcher"])
def test_the_owner_and_the_office_ask(request, record, who):
    asked = ask(record, request.getfixturevalue(who))

    assert isinstance(asked, Correction)
    assert ApplicationRecord.objects.count() == 1


def test_what_was_asked_is_kept_as_it_was_asked_with_both_names(record, dispatcher, applicator):
    second = agree(ask(record, dispatcher), by=applicator.user, at=AT)

    assert second.mix_gallons == Decimal(2)
    assert (second.recorded_by, second.approved_by) == (dispatcher, applicator.user)
    assert second.approved_at == AT


def test_asking_and_agreeing_are_entries_of_the_journal(record, dispatcher, applicator):
    agree(ask(record, dispatcher), by=applicator.user, at=AT)

    assert kinds() == ["record", "correction_asked", "amendment", "correction_answered"]


def test_declining_is_one_as_well_and_changes_nothing(record, dispatcher, applicator):
    asked = ask(record, dispatcher)

    assert [decline(asked, by=applicator.user, at=AT, note="No.") for _twice in "12"] == [
        True,
        False,
    ]
    assert kinds() == ["record", "correction_asked", "correction_answered"]
    with pytest.raises(ValidationError, match="answered already"):
        agree(asked, by=applicator.user, at=AT)


def test_agreeing_twice_keeps_one_record(record, dispatcher, applicator):
    asked = ask(record, dispatcher)

    assert agree(asked, by=applicator.user, at=AT) == agree(asked, by=applicator.user, at=AT)
    assert ApplicationRecord.objects.count() == 2


def test_the_same_event_asks_once_and_a_second_correction_waits(record, dispatcher):
    event = uuid4()

    assert ask(record, dispatcher, event_id=event) == ask(record, dispatcher, event_id=event)
    with pytest.raises(ValidationError, match="waits for an answer"):
        ask(record, dispatcher)


def test_who_asked_does_not_agree_while_somebody_else_can(record, owner, applicator):
    asked = ask_to_void(record, reason=REASON, by=owner, at=AT)

    with pytest.raises(ValidationError, match="Somebody else must agree"):
        agree(asked, by=owner, at=AT)
    assert agree(asked, by=applicator.user, at=AT).void


def test_what_an_applicator_wants_void_takes_the_owner(record, owner, applicator):
    asked = ask_to_void(record, reason=REASON, by=applicator.user, at=AT)

    with pytest.raises(ValidationError):
        agree(asked, by=applicator.user, at=AT)
    assert agree(asked, by=owner, at=AT).approved_by == owner


def test_an_owner_alone_with_a_certificate_agrees_in_a_second_step(record, owner, applicator):
    applicator.user = owner
    applicator.save()
    asked = ask_to_void(record, reason=REASON, by=owner, at=AT)
    assert ApplicationRecord.objects.count() == 1

    assert agree(asked, by=owner, at=AT).void


def test_the_office_does_not_ask_to_void(record, dispatcher):
    with pytest.raises(ValidationError, match="not yours"):
        ask_to_void(record, reason=REASON, by=dispatcher, at=AT)


def test_whose_certificate_is_suspended_does_not_agree(record, dispatcher, applicator):
    asked = ask(record, dispatcher)
    Certificate.objects.update(suspended_from="2026-01-01")

    with pytest.raises(ValidationError):
        agree(asked, by=applicator.user, at=AT)


def test_a_certificate_of_another_state_neither_agrees_nor_corrects_alone(
    record, dispatcher, applicator
):
    asked = ask(record, dispatcher)
    Certificate.objects.filter(applicator=applicator).update(jurisdiction="US-NJ")

    with pytest.raises(ValidationError):
        agree(asked, by=applicator.user, at=AT)
    with pytest.raises(ValidationError):
        ask_to_void(record, reason=REASON, by=applicator.user, at=AT)
    assert ApplicationRecord.objects.count() == 1


def test_a_technician_asks_for_the_own_records_only(record, technician, stated):
    with pytest.raises(ValidationError, match="not yours"):
        ask(record, technician)

    assert ask(record_application(**stated | {"recorded_by": technician}), technician)


def test_nothing_changed_is_not_asked(record, dispatcher):
    with pytest.raises(ValidationError, match="Nothing is changed"):
        correct_record(record, reason=REASON, by=dispatcher, at=AT, mix_gallons=record.mix_gallons)
