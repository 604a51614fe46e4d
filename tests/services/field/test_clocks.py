"""A wrong clock is seen: times are kept as they were told, and what is odd is flagged."""

from datetime import UTC, datetime, timedelta

import pytest

from services.models import FieldEvent
from tests.services.field.conftest import NOW, codes, later
from treatments.models import ApplicationRecord

DONE, CAPTURED = "2026-07-13T15:40:00-04:00", "2026-07-13T15:41:00-04:00"


def off_by(**time):
    """Return what a phone tells whose clock is off by so much."""
    return {
        "done_at": later(DONE, **time),
        "captured_at": later(CAPTURED, **time),
        "clock": {
            "device": later(CAPTURED, **time),
            "server_seen": "2026-07-13T11:00:00Z",
            "ticks_ms": 31_260_000,  # 8 h 41 min later it is 15:41 in New York
        },
    }


def started(**time):
    return {"started_at": later("2026-07-13T15:00:00-04:00", **time)}


@pytest.mark.parametrize(("seconds", "flags"), [(120, []), (121, ["clock-off"]), (-120, [])])
def test_two_minutes_are_not_too_much(phone, completes, seconds, flags):
    off = off_by(seconds=seconds)

    (reply,) = phone.say(completes(phone, started(seconds=seconds), **off))

    assert codes(reply) == flags
    assert FieldEvent.objects.get().skew_seconds == seconds


def test_a_phone_three_hours_fast_is_seen(phone, completes):
    (reply,) = phone.say(completes(phone, started(hours=3), **off_by(hours=3)))

    record = ApplicationRecord.objects.get()
    assert {"clock-off", "clock-ahead"} <= set(codes(reply))
    assert record.done_at == datetime(2026, 7, 13, 22, 40, tzinfo=UTC)
    assert record.received_at == NOW
    assert "180 minutes ahead" in reply["flags"][0]["en"]


def test_a_phone_two_days_slow_is_seen(phone, completes):
    (reply,) = phone.say(completes(phone, started(days=-2), **off_by(days=-2)))

    assert {"clock-off", "done-before-planned"} <= set(codes(reply))


def test_a_phone_set_back_to_1970_is_seen_and_its_times_are_kept(phone, completes):
    back = datetime.fromisoformat(DONE) - datetime(1970, 1, 1, 0, 10, tzinfo=UTC)

    (reply,) = phone.say(completes(phone, started(days=-back.days), **off_by(days=-back.days)))

    assert "clock-off" in codes(reply)
    assert ApplicationRecord.objects.get().done_at.year == 1970


def test_a_zone_that_changed_in_mid_day_is_seen(phone, completes):
    (reply,) = phone.say(completes(phone, zone="America/Chicago"))

    assert codes(reply) == ["other-zone"]


def test_a_clock_that_nobody_can_judge_is_no_fault(phone, completes):
    clock = {"device": CAPTURED, "server_seen": None, "ticks_ms": None}

    (reply,) = phone.say(completes(phone, clock=clock))

    assert (codes(reply), FieldEvent.objects.get().skew_seconds) == ([], None)


@pytest.mark.parametrize(("hours", "flags"), [(12, []), (13, ["written-long-after"])])
def test_what_is_written_long_after_asks_why(phone, completes, clock, hours, flags):
    clock.move_to(NOW + timedelta(hours=hours))
    event = completes(phone, captured_at=later(DONE, hours=hours))
    clock.move_to(NOW + timedelta(hours=hours))
    event["clock"] = {"device": event["captured_at"], "server_seen": None, "ticks_ms": None}

    (reply,) = phone.say(event)

    assert [code for code in codes(reply) if code == "written-long-after"] == flags


def test_the_order_is_that_of_the_phones_numbers_whatever_its_clock(phone, dispatched, clock):
    clock.move_to(NOW)
    early = phone.event("note", visit_id=dispatched.pk, done_at=later(DONE, hours=2))
    late = phone.event("note", visit_id=dispatched.pk)
    phone.say(early, late)

    kept = FieldEvent.objects.order_by("device_seq").values_list("event_id", flat=True)

    assert [str(each) for each in kept] == [early["event_id"], late["event_id"]]


def test_the_legal_clock_runs_to_when_we_received_it(phone, completes, clock):
    # Pennsylvania asks for the record within 24 hours [PA-128-35]
    event = completes(phone)
    clock.move_to(NOW + timedelta(days=2))

    (reply,) = phone.say(event)

    assert "written-late" in codes(reply)


@pytest.mark.parametrize(
    ("told", "utc"),
    [
        # on 1 November 2026 the clocks of New York show 01:30 twice [15USC260A]
        ("2026-11-01T01:30:00-04:00", datetime(2026, 11, 1, 5, 30, tzinfo=UTC)),
        ("2026-11-01T01:30:00-05:00", datetime(2026, 11, 1, 6, 30, tzinfo=UTC)),
        # on 8 March 2026 they skip 02:30; with an offset it is an instant all the same
        ("2026-03-08T02:30:00-05:00", datetime(2026, 3, 8, 7, 30, tzinfo=UTC)),
    ],
)
def test_an_offset_tells_the_hour_that_comes_twice_or_never(phone, dispatched, clock, told, utc):
    clock.move_to(NOW)

    phone.say(phone.event("note", visit_id=dispatched.pk, done_at=told))

    assert FieldEvent.objects.get().done_at == utc


@pytest.mark.parametrize("told", ["2026-11-01T01:30:00", "2026-03-08T02:30:00"])
def test_without_an_offset_nobody_knows_which_hour_it_was(phone, dispatched, told):
    (reply,) = phone.say(phone.event("note", visit_id=dispatched.pk, done_at=told))

    assert reply["result"] == "refused"
    assert "offset" in reply["problem"]["detail"]


@pytest.mark.parametrize(("minutes", "is_now"), [(0, False), (30, True)])
def test_a_hold_by_a_wrong_clock_stands_since_it_came(phone, dispatched, clock, minutes, is_now):
    clock.move_to(NOW)
    off = off_by(minutes=minutes)

    phone.say(phone.event("hold", visit_id=dispatched.pk, body={"reason": "wind"}, **off))

    assert (dispatched.holds.get().set_at == NOW) is is_now


def test_a_number_that_was_used_twice_is_seen(phone, dispatched, clock):
    clock.move_to(NOW)
    phone.say(phone.event("note", visit_id=dispatched.pk))
    phone.seq = 0

    (reply,) = phone.say(phone.event("note", visit_id=dispatched.pk))

    assert codes(reply) == ["sequence-repeated"]
