"""What is signed in is seen and ended by its person, and by the owner."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client as Browser

from clients.sessions import end_session, end_sessions, mark_of, signed_in
from tests.filling import send

PASSWORD = "one long password to test with"
NOON = datetime(2026, 7, 13, 16, tzinfo=UTC)
PHONE = "Mozilla/5.0 (invented; Mobile) Mobi/1"


def signed_in_browser(person, agent="invented"):
    browser = Browser(headers={"User-Agent": agent})
    page = browser.get("/accounts/login/")
    send(browser, page, "password", username=person.get_username(), password=PASSWORD)
    return browser


def mark(browser):
    return mark_of(browser.cookies[settings.SESSION_COOKIE_NAME].value)


def is_in(browser):
    return browser.get("/sign-ins/").status_code == 200


def text_of(browser):
    return browser.get("/sign-ins/").content.decode()


def test_a_sign_in_tells_since_when_and_on_what(owner):
    with time_machine.travel(NOON, tick=False) as clock:
        desk = signed_in_browser(owner)
        clock.shift(timedelta(minutes=5))
        phone = signed_in_browser(owner, PHONE)

        found = signed_in(owner)

    assert [(each.mark, each.at, each.is_handheld) for each in found] == [
        (mark(phone), NOON + timedelta(minutes=5), True),
        (mark(desk), NOON, False),
    ]


def test_a_person_ends_the_others_and_stays(dispatcher):
    here, there, elsewhere = [signed_in_browser(dispatcher) for _ in range(3)]

    here.post("/sign-ins/end/")

    assert [is_in(each) for each in (here, there, elsewhere)] == [True, False, False]
    assert "End all my others" not in text_of(here)


def test_one_is_ended_by_its_mark_once(dispatcher):
    here, there = signed_in_browser(dispatcher), signed_in_browser(dispatcher)

    said = here.post("/sign-ins/end/", {"mark": mark(there)}, follow=True).content.decode()
    again = here.post("/sign-ins/end/", {"mark": mark(there)}, follow=True).content.decode()

    assert "The sign-in was ended." in said
    assert "That sign-in has ended already." in again
    assert (is_in(here), is_in(there)) == (True, False)


def test_the_key_of_a_session_is_never_shown(owner):
    here, there = signed_in_browser(owner), signed_in_browser(owner)
    page = text_of(here)

    assert mark(there) in page
    for session in Session.objects.all():
        assert session.pk not in page


def test_nobody_but_the_owner_sees_or_ends_another_persons(owner, dispatcher):
    office, desk = signed_in_browser(dispatcher), signed_in_browser(owner)

    office.post("/sign-ins/end/", {"mark": mark(desk)})
    seen = mark(desk) in text_of(office)
    was_in = is_in(desk)
    owners = text_of(desk)
    desk.post("/sign-ins/end/", {"mark": mark(office)})

    assert (seen, was_in) == (False, True)
    assert mark(office) in owners
    assert not is_in(office)


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/sign-ins/").status_code == 302


def test_what_has_run_out_is_not_shown(owner):
    with time_machine.travel(NOON, tick=False) as clock:
        signed_in_browser(owner)
        clock.shift(timedelta(seconds=settings.SESSION_COOKIE_AGE + 1))

        assert signed_in() == []


def test_a_session_of_before_its_beginning_was_kept_is_dated_by_its_end(owner):
    with time_machine.travel(NOON, tick=False):
        browser = signed_in_browser(owner)
        session = browser.session
        del session["signed_in"]
        session.save()

        (found,) = signed_in(owner)

    assert (found.at, found.is_handheld) == (NOON, False)


@pytest.mark.parametrize("unknown", ["", "nothing", "0" * 16])
def test_a_mark_of_nothing_ends_nothing(owner, unknown):
    browser = signed_in_browser(owner)

    assert not end_session(unknown)
    assert is_in(browser)
    assert end_sessions(owner) == 1
