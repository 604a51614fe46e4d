"""Review: the office decides which of two reports stands, and makes drafts whole."""

import json
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from services.completing import VisitReport, keep_beside
from services.completing.reports import ApplicationReport
from services.field.reviewing import decide
from services.field.showing import report_shown
from services.models import FieldEvent, Visit
from tests.services.field.conftest import NOW
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import void_application

REASON = "Both crews were called and agree."


@pytest.fixture
def second_report(phone, second_phone, completes):
    """The report of the second phone on the same visit."""
    phone.say(completes(phone))
    second_phone.say(completes(second_phone))
    return FieldEvent.objects.to_review().get()


@pytest.fixture
def draft(phone, completes, complete_body):
    """A report whose lot nobody knows."""
    complete_body["reports"][0]["lot"] = 999_999
    phone.say(completes(phone))
    return FieldEvent.objects.get()


@pytest.fixture
def office(client, owner):
    """The owner's browser."""
    client.force_login(owner)
    return client


def send(office, event, step, **typed):
    return office.post(f"/review/{event.event_id}/{step}/", typed)


def test_reports_that_wait_are_listed_with_their_reasons(office, second_report):
    page = office.get("/review/").content.decode()

    assert "The visit had been reported before" in page
    assert f"/review/{second_report.event_id}/" in page


def test_two_reports_that_both_stand_are_decided_with_a_reason(office, second_report):
    answer = send(office, second_report, "decide", decision="both", reason=REASON)

    second_report.refresh_from_db()
    assert answer.status_code == 302
    assert (second_report.decision, second_report.decided_by.username) == ("both", "owner")
    assert not FieldEvent.objects.to_review().exists()
    assert ApplicationRecord.objects.current().count() == 2


@pytest.mark.parametrize("reason", ["", "so", " " * 12])
def test_without_a_reason_nothing_is_decided(office, second_report, reason):
    answer = send(office, second_report, "decide", decision="both", reason=reason)

    assert answer.status_code == 422
    assert FieldEvent.objects.to_review().exists()
    # the browser goes on to the refusal, which stands far below on a phone
    page = answer.content.decode()
    assert 'decide/#decide"' in page
    assert page.index('id="decide"') < page.index('class="problems" role="alert"')


@pytest.mark.parametrize(("decision", "whose"), [("this twice", 1), ("first twice", 0)])
def test_what_was_told_twice_is_declared_void_first(office, second_report, owner, decision, whose):
    refused = send(office, second_report, "decide", decision=decision, reason=REASON)
    wrong = ApplicationRecord.objects.order_by("number")[whose]
    assert refused.status_code == 422
    assert f"record {wrong.number}" in refused.content.decode()
    void_application(wrong, reason=REASON, by=owner)

    answer = send(office, second_report, "decide", decision=decision, reason=REASON)

    assert answer.status_code == 302
    assert ApplicationRecord.objects.current().count() == 1
    assert JournalEntry.objects.count() >= 3  # both reports and the void stay


def test_another_planting_is_named_by_an_amendment_first(office, second_report):
    answer = send(office, second_report, "decide", decision="other place", reason=REASON)

    assert answer.status_code == 422


def test_what_was_decided_is_not_decided_otherwise(second_report, owner, dispatcher):
    decide(second_report, decision="both", reason=REASON, by=owner, at=NOW)

    with pytest.raises(ValidationError, match="owner has decided"):
        decide(second_report, decision="this twice", reason=REASON, by=owner, at=NOW)
    again = decide(second_report, decision="both", reason=REASON, by=dispatcher, at=NOW)

    assert again.decided_by == owner


def test_a_draft_begins_with_what_the_phone_told(office, draft, applicator):
    page = office.get(f"/review/{draft.event_id}/complete/")

    form = page.context["form"]
    assert form["started"].value() == "15:00"
    assert form["ended"].value() == "15:40"
    assert form["applicator"].value() == applicator.pk
    assert form["wind_mph"].value() == "4"
    assert "applied, lot: this one is not in the book." in page.content.decode()


def test_a_draft_begins_with_what_only_its_place_asks_for(
    office, phone, completes, complete_body, library
):
    # [OR-634-146] asks who sold the product
    library.jurisdiction = "US-OR"
    library.save()
    complete_body["reports"][0] |= {"lot": 999_999, "supplier_name": "Ferry Seed and Feed"}
    phone.say(completes(phone))
    event = FieldEvent.objects.get()

    page = office.get(f"/review/{event.event_id}/complete/")

    assert page.context["form"]["supplier_name"].value() == "Ferry Seed and Feed"
    assert "bought from" in office.get(f"/review/{event.event_id}/").content.decode()


def test_a_report_is_told_with_names_units_and_the_clocks_of_the_place(
    phone, completes, oil_lot, rose_bed, applicator
):
    phone.say(completes(phone))

    told = dict(report_shown(FieldEvent.objects.get()).facts())

    assert told["who applied"] == str(applicator)
    assert told["applied 1, planting"] == str(rose_bed)
    assert told["applied 1, lot"] == str(oil_lot)
    assert told["applied 1, product used"] == "7.5 fl oz"
    assert told["air, wind"] == "4 mph"
    assert told["started"] == "Mon Jul 13, 3:00 pm"


def whole(draft, lot, rose_bed, applicator):
    return {
        "day": "2026-07-13",
        "started": "15:00",
        "ended": "15:40",
        "lot": lot.pk,
        f"amount_{rose_bed.pk}": "7.5",
        f"spray_{rose_bed.pk}": "3",
        "applicator": applicator.pk,
        "wind_mph": "4",
        "temperature_f": "72",
        "note": "Webs.",
    }


def test_a_draft_that_is_made_whole_is_a_report_and_the_phone_hears_so(
    office, phone, draft, oil_lot, rose_bed, applicator
):
    typed = whole(draft, oil_lot, rose_bed, applicator)

    for _ in range(2):
        answer = send(office, draft, "complete", **typed)
        assert answer.status_code == 302

    record = ApplicationRecord.objects.get()
    draft.refresh_from_db()
    assert (draft.decision, list(draft.records.all())) == ("completed", [record])
    assert f"{record.captured_at:%H:%M}" == "19:41"
    (reply,) = phone.say(sent_again(draft))
    assert (reply["result"], reply["records"][0]["number"]) == ("duplicate", record.number)


def sent_again(draft):
    return json.loads(draft.told)


def test_what_is_still_missing_loses_nothing_typed(office, draft, oil_lot, rose_bed, applicator):
    typed = whole(draft, oil_lot, rose_bed, applicator) | {"ended": "", "note": "Keep me."}

    answer = send(office, draft, "complete", **typed)

    assert answer.status_code == 422
    assert "Keep me." in answer.content.decode()
    assert not ApplicationRecord.objects.exists()


def test_an_unplanned_stop_becomes_a_report_of_the_visit_it_was(
    office, phone, dispatched, clock, oil_lot, rose_bed, applicator
):
    clock.move_to(NOW)
    phone.say(phone.event("unplanned", body={"where": "the roses"}))
    event = FieldEvent.objects.get()

    named = send(office, event, "visit", visit=dispatched.pk)
    done = send(office, event, "complete", **whole(event, oil_lot, rose_bed, applicator))

    assert (named["Location"], done.status_code) == (f"/review/{event.event_id}/complete/", 302)
    assert ApplicationRecord.objects.get() in dispatched.records.all()
    assert Visit.objects.get(pk=dispatched.pk).state == "COMPLETED"


def test_a_draft_that_is_no_report_is_dropped_with_a_reason(office, phone, clock):
    phone.say(phone.event("unplanned", body={"where": "nowhere"}))
    event = FieldEvent.objects.get()

    send(office, event, "decide", decision="dropped", reason="A slip of the hand.")

    event.refresh_from_db()
    assert (event.decision, event.told != "") == ("dropped", True)


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_others_do_not_review(client, request, draft, who):
    client.force_login(request.getfixturevalue(who))

    assert client.get("/review/").status_code == 403
    assert send(client, draft, "decide", decision="dropped", reason=REASON).status_code == 403


def test_a_paper_beside_a_phones_report_is_to_be_looked_at_though_the_first_was_decided(
    client, phone, completes, dispatched, owner
):
    phone.say(completes(phone))
    FieldEvent.objects.filter(kind="complete").update(needs_review=True)
    first = FieldEvent.objects.get(kind="complete")
    decide(first, decision="seen", reason="Asked the crew by phone.", by=owner, at=NOW)
    (record,) = first.records.all()
    report = ApplicationReport(
        planting=record.planting, lot=record.lot, product_amount=Decimal(1), mix_gallons=Decimal(2)
    )
    told = VisitReport((report,), None, NOW, NOW, record.applicator, owner, from_paper=True)

    (second,) = keep_beside(dispatched, told, now=NOW)

    (waiting,) = FieldEvent.objects.to_review()
    assert (waiting.device, list(waiting.records.all())) == (None, [second])
    assert list(report_shown(waiting).others) == [record]
    assert "reported before" in " ".join(report_shown(waiting).flags)
    client.force_login(owner)
    page = client.get(f"/review/{waiting.event_id}/").content.decode()
    assert "Entered by owner when the visit had been reported before." in page
    decided = decide(waiting, decision="both", reason="Both crews sprayed.", by=owner, at=NOW)
    assert decided.decision == "both"


def test_a_note_alone_is_looked_at_and_seen(phone, office, clock):
    clock.move_to(NOW)
    (reply,) = phone.say(phone.event("note", body={"text": "The gate hangs loose."}))

    page = office.get("/review/").content.decode()
    event = FieldEvent.objects.to_review().get()
    seen = send(office, event, "decide", decision="seen", reason="The client was told.")

    assert reply["result"] == "accepted"
    assert "The gate hangs loose." in page
    assert seen.status_code == 302
    assert not FieldEvent.objects.to_review().exists()
