"""Where what a phone says meets what the book says by now: it is kept, flagged and shown."""

from datetime import timedelta
from decimal import Decimal

import pytest

from clients.access import Role
from services.courses import end_course
from services.holding import hold_visit
from services.models import FieldEvent, Visit
from tests.services.field.conftest import NOW, codes, left_of
from treatments.models import ApplicationRecord, StockEntry

HELD_AT = NOW - timedelta(hours=2)


def test_two_phones_complete_one_visit_and_both_reports_stand(
    phone, second_phone, completes, dispatched, oil_lot
):
    (first,) = phone.say(completes(phone))
    (second,) = second_phone.say(completes(second_phone))

    assert (first["result"], second["result"]) == ("accepted", "accepted_flagged")
    assert "second-report" in codes(second)
    assert ApplicationRecord.objects.count() == dispatched.records.count() == 2
    assert Visit.objects.get(pk=dispatched.pk).completed_at == dispatched.records.first().done_at
    assert left_of(oil_lot) == Decimal("241.0")
    assert FieldEvent.objects.to_review().get().person.username == "applicator"


def test_limits_are_reckoned_anew_with_the_second_report(
    phone, second_phone, completes, oil, complete_body
):
    oil.minimum_interval_days = 7
    oil.save()
    phone.say(completes(phone))

    (second,) = second_phone.say(completes(second_phone))

    # the label's seven days lie between no two applications of one evening
    assert any("interval" in code for code in codes(second))


def test_what_was_sprayed_during_a_hold_is_kept_and_the_hold_stays(
    phone, completes, dispatched, owner, clock
):
    clock.move_to(HELD_AT)
    hold = hold_visit(dispatched, reason="wind", by=owner, at=HELD_AT)
    clock.move_to(NOW)

    (reply,) = phone.say(completes(phone))

    hold.refresh_from_db()
    assert (reply["result"], codes(reply)) == ("accepted_flagged", ["applied-during-hold"])
    assert hold.lifted_at is None
    assert "Jul\xa013,\xa02026, 14:00" in reply["flags"][0]["en"]


def test_a_visit_that_was_cancelled_meanwhile_is_kept_and_flagged(
    phone, completes, dispatched, owner, clock
):
    clock.move_to(HELD_AT)
    end_course(dispatched.course, outcome="stopped", by=owner, at=HELD_AT)
    clock.move_to(NOW)

    (reply,) = phone.say(completes(phone))

    assert "applied-after-cancelling" in codes(reply)
    assert len(reply["records"]) == 1


def test_a_visit_that_was_moved_meanwhile_is_kept_and_flagged(phone, completes, dispatched):
    Visit.objects.filter(pk=dispatched.pk).update(
        dispatch=None, planned="2026-07-15", version=dispatched.version + 1
    )

    (reply,) = phone.say(completes(phone))

    assert codes(reply) == ["moved-meanwhile"]
    assert "planned for Jul\xa015,\xa02026" in reply["flags"][0]["en"]


def test_the_record_keeps_the_label_that_the_crew_saw(phone, completes, oil):
    oil.label_version, oil.version = "2026-07", oil.version + 1
    oil.name = "Still Oil, renamed"
    oil.save()

    (reply,) = phone.say(completes(phone))

    record = ApplicationRecord.objects.get()
    assert (record.product_name, record.label_version) == ("Still Oil", "")
    assert "label-changed" in codes(reply)


def test_a_label_whose_limits_changed_is_flagged_with_what_changed(phone, completes, oil):
    oil.wind_maximum_mph, oil.version = Decimal(15), oil.version + 1
    oil.save()

    (reply,) = phone.say(completes(phone))

    (flag,) = [flag for flag in reply["flags"] if flag["code"] == "label-changed"]
    assert "wind_maximum_mph" in flag["en"]


def test_a_lot_that_runs_below_zero_is_to_be_counted(phone, completes, oil_lot):
    StockEntry.objects.create(
        lot=oil_lot,
        kind=StockEntry.Kind.DISPOSED,
        amount=Decimal(-250),
        note="leaked",
        happened_at=NOW,
        entered_by=phone.device.person,
    )

    (reply,) = phone.say(completes(phone))

    assert (codes(reply), left_of(oil_lot)) == (["count-needed"], Decimal("-1.5"))


@pytest.mark.parametrize("which", ["unheard of", "another crew's"])
def test_a_visit_that_the_crew_was_never_sent_waits_as_a_draft(
    phone, completes, second_course, which
):
    foreign = second_course.visits.get(rotation_week__week=2)
    Visit.objects.filter(pk=foreign.pk).update(dispatch=None)
    visit_id = foreign.pk if which == "another crew's" else 999_999

    (reply,) = phone.say(completes(phone) | {"visit_id": visit_id})

    foreign.refresh_from_db()
    assert (reply["result"], codes(reply)) == ("accepted_flagged", ["unknown-visit"])
    assert (reply["records"], foreign.state) == ([], "NEEDS-ACTION")
    assert FieldEvent.objects.to_review().get().visit is None


def test_an_applicator_whose_certificate_had_ended_is_flagged(phone, completes, applicator):
    applicator.certificates.update(expires_on="2026-07-12")

    (reply,) = phone.say(completes(phone))

    assert reply["result"] == "accepted_flagged"
    assert any("certif" in code for code in codes(reply))


def test_a_certificate_counts_on_the_day_it_was_done(phone, completes, applicator, clock):
    applicator.certificates.update(expires_on="2026-07-13")
    event = completes(phone)
    clock.move_to(NOW + timedelta(hours=6))

    (reply,) = phone.say(event)

    assert codes(reply) == []


def test_who_has_lost_the_role_is_flagged_and_gets_no_packet(phone, completes, technician):
    technician.groups.set([technician.groups.model.objects.get_or_create(name=Role.INSPECTOR)[0]])

    (reply,) = phone.say(completes(phone))

    assert codes(reply) == ["not-of-crew"]
    assert phone.packet().status_code == 403


def test_a_hold_of_a_visit_that_was_made_changes_nothing(
    phone, second_phone, completes, dispatched
):
    phone.say(completes(phone))
    body = {"reason": "wind"}

    (reply,) = second_phone.say(second_phone.event("hold", visit_id=dispatched.pk, body=body))

    assert codes(reply) == ["held-after-the-end"]
    assert not dispatched.holds.exists()


def test_two_phones_hold_one_visit_once(phone, second_phone, dispatched, clock):
    clock.move_to(NOW)
    for each in (phone, second_phone):
        event = each.event("hold", visit_id=dispatched.pk, body={"reason": "wind"})
        assert each.say(event)[0]["result"] == "accepted"

    assert dispatched.holds.count() == 1


def test_what_was_left_out_is_told_and_flagged(phone, completes, dispatched, rose_bed):
    left_out = {"plantings": [rose_bed.pk], "why": "Wasps on the east end."}

    (reply,) = phone.say(completes(phone, {"left_out": left_out}))

    dispatched.refresh_from_db()
    assert codes(reply) == ["treated-in-part"]
    assert dispatched.note.endswith("Wasps on the east end.")


def test_a_beginning_after_the_cancelling_is_kept(phone, dispatched, clock):
    clock.move_to(NOW)
    Visit.objects.filter(pk=dispatched.pk).update(state="CANCELLED")

    (reply,) = phone.say(phone.event("start", visit_id=dispatched.pk))

    assert codes(reply) == ["started-after-cancelling"]
