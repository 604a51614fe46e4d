"""A phone of the crew's technician on the second Monday, with the stop of that day in it."""

from copy import deepcopy
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import count
from uuid import UUID

import pytest
import time_machine
from django.core.cache import cache
from rest_framework.test import APIClient

from services.devices import enrol, make_code
from services.field.auth import COOKIE

MORNING = datetime(2026, 7, 13, 11, tzinfo=UTC)  # 7:00 at the library
NOW = datetime(2026, 7, 13, 20, tzinfo=UTC)  # 16:00 at the library
NUMBERS = count(1)


def uuid7(number):
    """Return the same UUID of version 7 for the same number [RFC9562]."""
    return str(UUID(int=(0x017F22E279B0 << 80) | (7 << 76) | (2 << 62) | number))


@pytest.fixture
def clock():
    """Stop the clock in the morning of the second visit; a test moves it on."""
    cache.clear()
    with time_machine.travel(MORNING, tick=False) as clock:
        yield clock


class Phone:
    """A phone as its page speaks: it numbers its events and knows its own id."""

    def __init__(self, device, token):
        self.device, self.token, self.seq = device, token, 0
        self.api = APIClient()
        self.api.cookies[COOKIE] = token

    def event(self, kind="start", **changes):
        """Return a new event, in order after the last one."""
        self.seq += 1
        event = {
            "event_id": uuid7(next(NUMBERS)),
            "device_id": str(self.device.pk),
            "device_seq": self.seq,
            "kind": kind,
            "visit_id": None,
            "base_version": None,
            "packet": "",
            "done_at": "2026-07-13T15:40:00-04:00",
            "captured_at": "2026-07-13T15:41:00-04:00",
            "zone": "America/New_York",
            "clock": {
                "device": "2026-07-13T15:41:00-04:00",
                "server_seen": "2026-07-13T11:00:00Z",
                "ticks_ms": 31_260_000,
            },
            "body": {},
            "photos": [],
        }
        return event | changes

    def send(self, *events, **changes):
        """Send events and return the whole answer."""
        batch = {"device_id": str(self.device.pk), "unsent": 0, "events": list(events)}
        return self.api.post(
            "/api/v1/sync/", batch | changes, headers={"X-Phone": str(self.device.pk)}
        )

    def say(self, *events):
        """Send events and return their replies."""
        answer = self.send(*events)
        assert answer.status_code == 200, answer.content
        return answer.json()["replies"]

    def packet(self, **headers):
        """Ask for the packet."""
        return self.api.get("/api/v1/packet/", headers=headers)


@pytest.fixture
def phone_of(clock, owner):
    """Enrol a phone for a person."""

    def enrolled(person, name="Phone one"):
        _device, code = make_code(person, name=name, by=owner, now=MORNING)
        return Phone(*enrol(code, now=MORNING))

    return enrolled


@pytest.fixture
def phone(phone_of, dispatched, technician):
    """The technician's phone, which has fetched the packet of the day."""
    phone = phone_of(technician)
    assert phone.packet().status_code == 200
    return phone


@pytest.fixture
def second_phone(phone_of, dispatched, applicator):
    """The applicator's phone of the same crew, with the same stop in it."""
    phone = phone_of(applicator.user, "Phone two")
    assert phone.packet().status_code == 200
    return phone


@pytest.fixture
def complete_body(rose_bed, oil_lot, applicator):
    """What the crew tells of the second visit: 7.5 fl oz of oil in 3 gallons, as planned."""
    return {
        "started_at": "2026-07-13T15:00:00-04:00",
        "applicator": applicator.pk,
        "conditions": {
            "wind_mph": "4",
            "wind_direction": "SW",
            "temperature_f": "72",
            "humidity_percent": "60",
        },
        "reports": [
            {
                "planting": rose_bed.pk,
                "lot": oil_lot.pk,
                "product_amount": "7.5",
                "mix_gallons": "3",
            }
        ],
        "note": "Webs on the north side.",
    }


@pytest.fixture
def completes(dispatched, complete_body, clock):
    """Make the event by which a phone completes the second visit, with changes."""
    clock.move_to(NOW)

    def event(phone, body=None, **changes):
        told = deepcopy(complete_body) | (body or {})
        return phone.event("complete", visit_id=dispatched.pk, body=told, **changes)

    return event


def later(moment, **time):
    """Return a moment in RFC 3339, so much later."""
    return (datetime.fromisoformat(moment) + timedelta(**time)).isoformat()


def codes(reply):
    """Return the codes of the flags in a reply."""
    return [flag["code"] for flag in reply["flags"]]


def left_of(lot):
    """Return what is left of a lot."""
    return lot.left().quantize(Decimal("0.1"))
