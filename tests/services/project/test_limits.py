"""Guessing and prying: limits that hold, sessions that end, and what answers tell browsers.

Numbers of the standard are those of OWASP ASVS 5.0.0.
"""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.test import Client as Browser

from services.views.letter import may_try

NOON = datetime(2026, 7, 13, 16, tzinfo=UTC)
GUESSES = 10_000
LONG = "one long password to test with"


def test_of_ten_thousand_guesses_of_a_link_thirty_a_minute_are_let_through(rf):
    """2.4.1: at twenty a second, 8 minutes and 20 seconds, which begin nine minutes."""
    asked = rf.get("/c/x")
    through = 0
    for number in range(GUESSES):
        with time_machine.travel(NOON + timedelta(milliseconds=50 * number), tick=False):
            through += may_try(asked)

    assert through == 9 * 30


def test_a_guess_that_is_not_let_through_asks_nothing_of_the_book(
    client, db, django_assert_num_queries
):
    with time_machine.travel(NOON, tick=False):
        tried = [client.get(f"/c/{number:043d}").status_code for number in range(31)]
        with django_assert_num_queries(0):
            client.get(f"/c/{0:043d}")

    assert tried == [404] * 30 + [429]


@pytest.mark.django_db
def test_after_five_wrong_passwords_the_right_one_is_refused_too(client, owner):
    """6.3.1: of one name at one address, for a quarter of an hour."""
    wrong = {"username": "owner", "password": "another long password"}
    with time_machine.travel(NOON, tick=False) as clock:
        answers = [client.post("/accounts/login/", wrong).status_code for _ in range(5)]
        right = client.post("/accounts/login/", wrong | {"password": LONG})
        clock.shift(timedelta(minutes=15, seconds=1))
        later = client.post("/accounts/login/", wrong | {"password": LONG})

    assert answers == [200] * 4 + [429]
    assert (right.status_code, later.status_code) == (429, 302)


@pytest.mark.django_db
def test_a_program_that_asks_too_often_is_told_when_to_come_back(client, owner):
    client.force_login(owner)
    with time_machine.travel(NOON, tick=False):
        answers = [client.get("/api/v1/yards/") for _ in range(601)]

    assert [answer.status_code for answer in answers] == [200] * 600 + [429]
    assert int(answers[-1]["Retry-After"]) > 0


@pytest.mark.django_db
def test_a_password_changed_at_the_console_ends_every_session(client, owner, monkeypatch):
    """7.4.3: whoever sat at a lost computer is asked to sign in."""
    client.force_login(owner)
    assert client.get("/properties/").status_code == 200
    monkeypatch.setattr("getpass.getpass", lambda **_asked: "another long password to test with")

    call_command("changepassword", "owner", verbosity=0)

    assert client.get("/properties/").status_code == 302


@pytest.mark.django_db
def test_a_session_ends_after_twelve_hours_of_rest(client, owner):
    """7.3.1."""
    with time_machine.travel(NOON, tick=False) as clock:
        client.force_login(owner)
        clock.shift(timedelta(hours=12, seconds=1))

        assert client.get("/properties/").status_code == 302


@pytest.mark.django_db
def test_signing_in_changes_the_session_and_signing_out_ends_it(client, owner):
    """7.2.4, 7.4.1: a cookie from before is no cookie of afterwards."""
    client.get("/accounts/login/")
    client.post("/accounts/login/", {"username": "owner", "password": LONG})
    first = client.cookies["session"].value
    thief = Browser()
    thief.cookies["session"] = first
    assert thief.get("/properties/").status_code == 200

    client.post("/accounts/logout/")

    assert thief.get("/properties/").status_code == 302
    client.post("/accounts/login/", {"username": "owner", "password": LONG})
    assert client.cookies["session"].value != first


@pytest.mark.parametrize(
    "path", ["/properties/", "/api/v1/yards/", "/accounts/login/", "/nowhere/"]
)
def test_every_answer_tells_browsers_what_they_may_do_with_it(client, owner, path):
    """3.4.3 to 3.4.6: no foreign script, no guessed type, no frame, no address passed on."""
    client.force_login(owner)

    answer = client.get(path)

    policy = answer["Content-Security-Policy"]
    for word in ("default-src 'self'", "object-src 'none'", "frame-ancestors 'none'"):
        assert word in policy
    assert "unsafe" not in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"


@pytest.mark.django_db
def test_no_sign_in_comes_with_the_program():
    """6.3.2."""
    assert not get_user_model().objects.exists()
