"""What a phone says is kept once, each event for itself, with a reply it can act on."""

import json
from decimal import Decimal

import pytest

from services.models import FieldEvent, Outbox, Visit
from tests.services.field.conftest import NOW, codes, left_of, uuid7
from treatments.models import ApplicationRecord, JournalEntry


def test_a_completed_visit_has_its_record_and_the_phone_its_receipt(
    phone, completes, dispatched, oil_lot
):
    (reply,) = phone.say(completes(phone))

    record = ApplicationRecord.objects.get()
    entry = JournalEntry.objects.latest("seq")
    assert (reply["result"], codes(reply), reply["missing"]) == ("accepted", [], [])
    assert reply["records"] == [
        {"number": record.number, "seq": entry.seq, "leaf_hash": entry.leaf_hash}
    ]
    dispatched.refresh_from_db()
    assert (dispatched.state, left_of(oil_lot)) == ("COMPLETED", Decimal("248.5"))


def test_the_three_times_are_kept_as_they_were_told(phone, completes):
    phone.say(completes(phone))

    record = ApplicationRecord.objects.get()
    assert [f"{record.done_at:%H:%M}", f"{record.captured_at:%H:%M}"] == ["19:40", "19:41"]
    assert record.received_at == NOW
    assert record.recorded_by.username == "technician"


def test_a_begun_visit_is_under_way(phone, dispatched, clock):
    clock.move_to(NOW)

    (reply,) = phone.say(phone.event("start", visit_id=dispatched.pk))

    dispatched.refresh_from_db()
    assert (reply["result"], dispatched.state) == ("accepted", "IN-PROCESS")


def test_a_visit_is_put_off_with_its_reason(phone, dispatched, clock):
    clock.move_to(NOW)
    body = {"reason": "wind", "note": "13 mph"}

    (reply,) = phone.say(phone.event("hold", visit_id=dispatched.pk, body=body))

    hold = dispatched.holds.get()
    assert (reply["result"], hold.reason, hold.set_by.username) == (
        "accepted",
        "wind",
        "technician",
    )
    assert f"{hold.set_at:%H:%M}" == "19:40"
    assert JournalEntry.objects.latest("seq").envelope.count('"2026-07-13T20:00:00Z"') == 1


def test_the_same_event_again_is_a_duplicate_with_the_same_receipt(phone, completes):
    event = completes(phone)
    (first,) = phone.say(event)

    (second,) = phone.say(event)

    assert second == first | {"result": "duplicate"}
    assert (ApplicationRecord.objects.count(), Outbox.objects.count()) == (1, 1)


def test_the_clock_may_be_looked_at_again_before_a_repeat(phone, completes):
    event = completes(phone)
    phone.say(event)
    clock = {"device": "2026-07-13T16:10:00-04:00", "server_seen": None, "ticks_ms": None}

    (second,) = phone.say(event | {"clock": clock})

    assert second["result"] == "duplicate"


def test_the_same_id_with_another_body_is_refused_and_logged(phone, completes, caplog):
    event = completes(phone)
    phone.say(event)
    event["body"]["note"] = "another"

    with caplog.at_level("WARNING", "services.security"):
        (reply,) = phone.say(event)

    assert (reply["result"], reply["problem"]["status"]) == ("refused", 422)
    assert "another body" in caplog.text
    assert FieldEvent.objects.get().result == "accepted"


def test_one_bad_event_does_not_hold_up_the_others(phone, completes, dispatched):
    bad = phone.event("start", visit_id=dispatched.pk, done_at="2026-07-13T15:40:00")

    first, second = phone.say(bad, completes(phone))

    assert (first["result"], second["result"]) == ("refused", "accepted")


@pytest.mark.parametrize(
    "change",
    [
        {"event_id": "017f22e2-79b0-4cc3-98c4-dc0c0c07398f"},  # version 4
        {"event_id": "017f22e279b07cc398c4dc0c0c07398f"},
        {"event_id": 7},
        {"done_at": "2026-07-13T15:40:00"},
        {"captured_at": "yesterday"},
        {"device_seq": 0},
        {"device_seq": "first"},
        {"kind": "delete"},
        {"clock": None},
        {"body": [1]},
        {"body": {"amount": 7.5}},
        {"photos": [{"sha256": "no", "size": 3}]},
        {"photos": [{"sha256": "a" * 64, "size": 16 * 1024 * 1024}]},
        {"device_id": "01900000-0000-7000-8000-00000000dead"},
    ],
)
def test_what_is_no_event_of_this_phone_is_refused(phone, dispatched, change):
    (reply,) = phone.say(phone.event(visit_id=dispatched.pk) | change)

    dispatched.refresh_from_db()
    assert (reply["result"], dispatched.state) == ("refused", "NEEDS-ACTION")
    assert reply["problem"]["detail"]


def test_a_refused_event_may_come_again_set_right(phone, dispatched):
    event = phone.event("start", visit_id=dispatched.pk)
    phone.say(event | {"done_at": "2026-07-13T15:40:00"})
    assert FieldEvent.objects.get().needs_review

    (reply,) = phone.say(event)

    assert reply["result"] == "accepted"
    assert not FieldEvent.objects.get().needs_review


def test_what_is_missing_is_asked_for_and_the_draft_is_kept(phone, completes, complete_body):
    complete_body["reports"][0]["lot"] = 999_999
    event = completes(phone)

    (reply,) = phone.say(event)

    (missing,) = reply["missing"]
    assert (reply["result"], missing["field"], missing["code"]) == (
        "needs_input",
        "reports.0.lot",
        "does_not_exist",
    )
    draft = FieldEvent.objects.get()
    assert (draft.result, draft.needs_review) == ("needs_input", True)
    assert json.loads(draft.told)["body"]["note"] == "Webs on the north side."
    assert not ApplicationRecord.objects.exists()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"reports": []}, "reports"),
        ({"started_at": "2026-07-13T15:41:00-04:00"}, "started_at"),
        ({"started_at": "2026-07-13T15:00:00"}, "started_at"),
        ({"applicator": None}, "applicator"),
    ],
)
def test_what_makes_no_report_yet_names_its_field(phone, completes, change, field):
    (reply,) = phone.say(completes(phone, change))

    assert reply["result"] == "needs_input"
    assert {each["field"] for each in reply["missing"]} == {field}


def test_a_draft_is_completed_by_a_correction_and_both_have_their_receipt(
    phone, completes, complete_body, oil_lot
):
    complete_body["reports"][0]["lot"] = 999_999
    draft = completes(phone)
    phone.say(draft)
    reports = [complete_body["reports"][0] | {"lot": oil_lot.pk}]
    body = {"event": draft["event_id"], "reason": "the lot on the jug", "changes": {}}
    body["changes"]["reports"] = reports

    (amended,) = phone.say(phone.event("amend", body=body))
    (again,) = phone.say(draft)

    number = ApplicationRecord.objects.get().number
    assert amended["records"][0]["number"] == again["records"][0]["number"] == number
    assert (amended["result"], again["result"]) == ("accepted", "duplicate")


def test_a_draft_that_could_be_kept_by_now_is_kept(phone, completes, complete_body, oil_lot):
    complete_body["reports"][0]["lot"] = oil_lot.pk + 1
    draft = completes(phone)
    phone.say(draft)
    oil_lot.pk, oil_lot.lot_number = oil_lot.pk + 1, "O-2"
    oil_lot.save(force_insert=True)

    (reply,) = phone.say(draft)

    assert reply["result"].startswith("accepted")
    assert ApplicationRecord.objects.count() == 1


def test_a_correction_of_a_record_waits_for_the_office(phone, completes):
    event = completes(phone)
    (first,) = phone.say(event)
    changes = {"note": "South side."}
    body = {"event": event["event_id"], "reason": "wrong side named", "changes": changes}

    (reply,) = phone.say(phone.event("amend", body=body))

    assert (reply["result"], codes(reply)) == ("accepted_flagged", ["correction"])
    assert str(first["records"][0]["number"]) in reply["flags"][0]["en"]
    assert ApplicationRecord.objects.count() == 1


def test_an_unplanned_stop_waits_as_a_draft(phone, clock):
    body = {"where": "the neighbor's hedge", "note": "aphids"}

    (reply,) = phone.say(phone.event("unplanned", body=body))

    assert (reply["result"], codes(reply)) == ("accepted_flagged", ["unplanned-stop"])
    assert FieldEvent.objects.to_review().get().kind == "unplanned"


def test_a_note_is_kept_with_its_photos(phone, dispatched):
    photos = [{"sha256": "a" * 64, "size": 10}]
    event = phone.event("note", visit_id=dispatched.pk, body={"text": "x"}, photos=photos)

    (reply,) = phone.say(event)

    assert reply["result"] == "accepted"
    assert FieldEvent.objects.get().photos.get().sha256 == "a" * 64
    assert "a" * 64 in JournalEntry.objects.latest("seq").body


def test_flags_are_told_in_both_languages(phone, clock):
    (reply,) = phone.say(phone.event("unplanned", body={"where": "a hedge"}))

    assert set(reply["flags"][0]) == {"code", "en", "es"}


def test_control_characters_are_no_obstacle(phone, completes):
    (reply,) = phone.say(completes(phone, {"note": "a\x00b\x07"}))

    assert reply["result"] == "accepted"
    assert (
        Visit.objects.get(pk=reply and FieldEvent.objects.get().visit_id).note == "a\ufffdb\ufffd"
    )


class TestTheWholeRequest:
    """What is said of a batch as a whole."""

    def test_who_is_no_phone_signs_in_again(self, api, phone):
        answer = api.post("/api/v1/sync/", {"events": []})

        assert (answer.status_code, answer["WWW-Authenticate"]) == (401, 'Phone realm="field"')

    def test_the_phone_must_be_named_beside_its_cookie(self, phone):
        answer = phone.api.post("/api/v1/sync/", {"device_id": str(phone.device.pk)})

        assert answer.status_code == 403

    def test_more_than_fifty_events_are_sent_in_parts(self, phone):
        assert phone.send(*[{}] * 51).status_code == 413
        assert phone.send(*[{}] * 50).status_code == 200

    def test_more_than_a_mebibyte_is_sent_in_parts(self, phone):
        assert phone.send({"body": {"text": "x" * 1024 * 1024}}).status_code == 413

    def test_what_is_nested_too_deep_is_not_read(self, phone):
        deep = "[" * 21 + "]" * 21
        body = f'{{"device_id": "{phone.device.pk}", "unsent": 0, "events": {deep}}}'
        headers = {"X-Phone": str(phone.device.pk)}

        answer = phone.api.post(
            "/api/v1/sync/", body, content_type="application/json", headers=headers
        )

        assert answer.status_code == 400

    def test_a_busy_book_asks_to_try_again(self, phone, dispatched, monkeypatch):
        from django.db import OperationalError

        def locked(*_args, **_kwargs):
            raise OperationalError("database is locked")

        monkeypatch.setattr("services.field.syncing._take", locked)

        answer = phone.send(phone.event("start", visit_id=dispatched.pk))

        assert (answer.status_code, answer["Retry-After"]) == (503, "5")

    def test_too_many_requests_say_how_long_to_wait(self, phone, monkeypatch):
        from rest_framework.throttling import UserRateThrottle

        monkeypatch.setattr(UserRateThrottle, "THROTTLE_RATES", {"user": "1/min"})
        phone.send()

        answer = phone.send()

        assert (answer.status_code, "Retry-After" in answer) == (429, True)

    def test_an_empty_batch_tells_how_things_stand(self, phone, dispatched):
        skipped = phone.event("start", visit_id=dispatched.pk)
        phone.say(phone.event("start", visit_id=dispatched.pk))

        told = phone.send(unsent=1, oldest_unsent_at="2026-07-12T20:00:00-04:00").json()

        assert (told["last_seq"], told["gaps"], told["replies"]) == (
            2,
            [[skipped["device_seq"], skipped["device_seq"]]],
            [],
        )
        phone.device.refresh_from_db()
        assert (phone.device.unsent, phone.device.last_seq) == (1, 2)

    def test_the_head_of_the_journal_is_a_copy_in_the_phones_hands(self, phone, completes):
        told = phone.send(completes(phone)).json()

        assert told["head"]["size"] == JournalEntry.objects.count()
        assert len(told["head"]["root"]) == 64
        assert uuid7(1)[14] == "7"


def test_what_only_some_places_ask_for_is_kept_once(phone, completes, complete_body):
    # [OR-634-146] asks who sold the product, [TX-4TAC7] for the permit, [MA-333CMR] the insurer
    said = {
        "supplier_name": "Ferry Seed and Feed",
        "permit_number": "P-17",
        "insurance": "An Invented Mutual, 500,000",
    }
    (report,) = complete_body["reports"]
    event = completes(phone, {"reports": [report | said]})

    (first,) = phone.say(event)
    (second,) = phone.say(event)

    record = ApplicationRecord.objects.get()
    assert {name: getattr(record, name) for name in said} == said
    assert (first["result"], second["result"]) == ("accepted", "duplicate")


@pytest.mark.parametrize(("length", "result"), [(60, "accepted"), (61, "needs_input")])
def test_what_is_longer_than_the_record_takes_waits_as_a_draft(
    phone, completes, complete_body, length, result
):
    (report,) = complete_body["reports"]
    event = completes(phone, {"reports": [report | {"permit_number": "7" * length}]})

    (reply,) = phone.say(event)

    assert reply["result"] == result
