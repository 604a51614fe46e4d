"""Phones are enrolled by a code that works once, and taken back at once."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from services import people
from services.devices import (
    CODE_HOLDS,
    CodeUnusable,
    device_of,
    enrol,
    make_code,
    plain_code,
    revoke,
    waiting_for,
)
from services.field.auth import COOKIE
from services.models import Device, Dispatch
from services.models.field import IDLE
from services.showing.phones import NAG_AFTER, TELL_AFTER, phone_of

NOW = datetime(2026, 7, 13, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def stopped():
    """Stop the clock."""
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def code(technician, owner):
    """A code for the technician's phone."""
    return make_code(technician, name="Phone one", by=owner, now=NOW)[1]


def test_code_and_token_are_kept_as_digests_alone(code):
    device, token = enrol(code, now=NOW)

    kept = " ".join(str(value) for value in Device.objects.values().get().values())
    assert code not in kept
    assert token not in kept
    assert device_of(token, NOW) == device


def test_a_code_works_once(code):
    enrol(code, now=NOW)

    with pytest.raises(CodeUnusable):
        enrol(code, now=NOW)


@pytest.mark.parametrize(("late", "works"), [(timedelta(), False), (timedelta(seconds=1), True)])
def test_a_code_holds_a_quarter_of_an_hour(code, late, works):
    at = NOW + CODE_HOLDS - late
    if works:
        assert waiting_for(code, at)
    else:
        with pytest.raises(CodeUnusable):
            waiting_for(code, at)


def test_a_code_may_be_typed_as_it_is_read(code):
    spaced = f"{code[:4].lower()} {code[4:8]}-{code[8:]}".replace("0", "O").replace("1", "l")

    assert plain_code(spaced) == code
    assert enrol(spaced, now=NOW)


def test_a_phone_that_was_taken_back_opens_nothing_from_then_on(code, owner):
    device, token = enrol(code, now=NOW)

    assert revoke(device, by=owner, at=NOW)
    assert not revoke(device, by=owner, at=NOW)
    assert device_of(token, NOW) is None


@pytest.mark.parametrize(("days", "is_open"), [(29, True), (30, False)])
def test_after_thirty_silent_days_it_must_be_enrolled_again(code, days, is_open):
    assert IDLE.days == 30
    _device, token = enrol(code, now=NOW)

    assert (device_of(token, NOW + timedelta(days=days)) is not None) is is_open


def test_who_leaves_takes_no_phone_along(code, technician, owner):
    _device, token = enrol(code, now=NOW)

    people.let_go(technician, by=owner)

    assert device_of(token, NOW) is None
    assert Device.objects.get().revoked_by == owner


def test_an_inspector_carries_no_phone(inspector, owner):
    _device, code = make_code(inspector, name="Phone", by=owner, now=NOW)

    with pytest.raises(CodeUnusable):
        enrol(code, now=NOW)


def test_a_phone_is_enrolled_by_its_browser(client, code):
    asked = client.get(f"/field/enrol/{code}/")
    assert Device.objects.get().enrolled_at is None  # opening an address changes nothing

    answer = client.post("/field/enrol/", {"code": code})

    cookie = answer.cookies[COOKIE]
    assert (asked.status_code, answer["Location"]) == (200, "/field/")
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Strict")
    assert client.get("/api/v1/packet/").status_code == 200


@pytest.mark.parametrize("address", ["/week/", "/records/", "/api/v1/visits/", "/phones/"])
def test_a_phone_opens_no_page_of_the_office(client, code, address):
    client.post("/field/enrol/", {"code": code})

    assert client.get(address).status_code in (302, 401, 403)


@pytest.mark.parametrize("typed", ["", "0000 0000 0000", "x" * 41])
def test_a_wrong_code_enrols_nothing(client, code, typed):
    answer = client.post("/field/enrol/", {"code": typed})

    assert answer.status_code in (200, 404)
    assert COOKIE not in answer.cookies


def test_codes_are_not_tried_all_day(client, code):
    answers = [client.post("/field/enrol/", {"code": "0" * 12}).status_code for _ in range(31)]

    assert answers[-1] == 429


def test_the_owner_sees_the_code_once(client, owner, technician):
    client.force_login(owner)

    page = client.post("/phones/new/", {"person": technician.pk, "name": "Phone one"})

    code = re.search(r"<b>(\w{4} \w{4} \w{4})</b>", page.content.decode())[1]
    assert b"<svg" in page.content
    assert "no-store" in page["Cache-Control"]
    assert enrol(code, now=NOW)
    assert code not in client.get("/phones/").content.decode()


def test_the_office_takes_a_phone_back(client, dispatcher, code):
    device, token = enrol(code, now=NOW)
    client.force_login(dispatcher)

    client.post(f"/phones/{device.pk}/revoke/")

    assert device_of(token, NOW) is None
    assert client.get("/phones/new/").status_code == 403


@pytest.mark.parametrize(("hours", "is_late"), [(71, False), (72, True)])
def test_after_three_days_the_office_is_told(client, owner, code, hours, is_late):
    assert (timedelta(hours=24), timedelta(hours=72)) == (NAG_AFTER, TELL_AFTER)
    device, _token = enrol(code, now=NOW)
    device.unsent, device.oldest_unsent_at = 3, NOW - timedelta(hours=hours)
    device.save()
    client.force_login(owner)

    assert phone_of(device, NOW).is_late is is_late
    assert ("has held reports" in client.get("/review/").content.decode()) is is_late
    assert "3 events" in client.get("/phones/").content.decode()


@pytest.mark.parametrize(("hours", "is_silent"), [(71, False), (72, True), (30 * 24, False)])
def test_a_phone_that_is_silent_while_its_crew_is_out_is_told_of(
    client, owner, code, technician, hours, is_silent
):
    device, _token = enrol(code, now=NOW)
    yesterday = NOW.date() - timedelta(days=1)
    hours_out = {"leaves_yard_at": NOW - timedelta(hours=24), "returns_at": NOW}
    crew = technician.technician.crew
    Dispatch.objects.create(crew=crew, day=yesterday, made_at=NOW, **hours_out)
    device.unsent, device.last_contact_at = 0, NOW - timedelta(hours=hours)
    device.save()
    client.force_login(owner)

    assert ("has not been heard of" in client.get("/review/").content.decode()) is is_silent
    assert ("silent though" in client.get("/phones/").content.decode()) is is_silent
    Dispatch.objects.all().delete()
    assert "has not been heard of" not in client.get("/review/").content.decode()
