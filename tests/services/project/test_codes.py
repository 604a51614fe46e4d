"""Signing in with a code: the password first, then the code, and nothing opens in between.

Numbers of the standard are those of OWASP ASVS 5.0.0.
"""

import logging
from datetime import timedelta

import pytest
import time_machine
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth import get_user_model
from django.test import Client as Browser

from clients.models import Client
from clients.sessions import signed_in
from services import second_factor
from services.models import Technician
from services.people import let_go, set_password
from services.program_keys import make_key
from services.rules.one_time_codes import code_at
from tests.filling import form_with, send
from tests.services.test_second_factor import LATER, NOON, STEP, code_of, with_codes

PASSWORD = "one long password to test with"
PLACE = "/properties/"


@pytest.fixture
def clock():
    """Stop the clock well after the code that turned codes on."""
    with time_machine.travel(LATER, tick=False) as stopped:
        yield stopped


@pytest.fixture
def paper(owner, clock):
    """The recovery codes of the owner, who signs in with codes."""
    return with_codes(owner, NOON)


def password_given(browser, name="owner", to=PLACE):
    page = browser.get("/accounts/login/", {"next": to})
    return send(browser, page, "password", username=name, password=PASSWORD)


def code_given(browser, code, field="one_time_code"):
    return send(browser, browser.get("/accounts/code/"), field, **{field: code})


def is_in(browser):
    return browser.get(PLACE).status_code == 200


def test_the_password_alone_opens_nothing_and_the_code_opens_what_was_wanted(client, owner, paper):
    half = password_given(client)
    between = client.get(PLACE)
    whole = code_given(client, code_of(owner, LATER))

    assert half["Location"] == "/accounts/code/"
    assert (between.status_code, between["Location"][:16]) == (302, "/accounts/login/")
    assert (whole.status_code, whole["Location"]) == (302, PLACE)
    assert is_in(client)


def test_half_way_in_the_api_knows_nobody(client, owner, paper):
    password_given(client)

    assert client.get("/api/v1/yards/").status_code == 401
    assert client.get("/records/").status_code == 302
    assert signed_in() == []


def test_the_page_helps_a_phone_to_fill_the_code_in(client, owner, paper):
    password_given(client)

    page = client.get("/accounts/code/")

    assert 'autocomplete="one-time-code"' in page.content.decode()
    assert 'inputmode="numeric"' in page.content.decode()
    assert "no-store" in page["Cache-Control"]


@pytest.mark.parametrize("wanted", ["https://elsewhere.example/", "//elsewhere.example/"])
def test_an_address_elsewhere_is_not_gone_to(client, owner, paper, wanted):
    password_given(client, to=wanted)

    assert code_given(client, code_of(owner, LATER))["Location"] == "/"


def test_the_code_gives_the_session_another_key(client, owner, paper):
    """7.2.4: a cookie of half way in is no cookie of afterwards."""
    password_given(client)
    half = client.cookies[settings.SESSION_COOKIE_NAME].value
    code_given(client, code_of(owner, LATER))
    thief = Browser()
    thief.cookies[settings.SESSION_COOKIE_NAME] = half

    assert client.cookies[settings.SESSION_COOKIE_NAME].value != half
    assert not is_in(thief)


def test_a_wrong_code_is_refused_and_said(client, owner, paper):
    password_given(client)

    answer = code_given(client, "000000")

    assert answer.status_code == 422
    assert "does not fit, or it was used before" in answer.content.decode()
    assert not is_in(client)


def test_no_code_at_all_is_refused_and_not_counted(client, owner, paper):
    password_given(client)

    answers = [code_given(client, "").status_code for _ in range(6)]

    assert answers == [422] * 6


def test_a_code_signs_in_once(client, owner, paper):
    """6.5.1: whoever looked over the shoulder comes too late."""
    other, code = Browser(), code_of(owner, LATER)
    for browser in (client, other):
        password_given(browser)

    answers = [code_given(browser, code).status_code for browser in (client, other)]

    assert answers == [302, 422]


def test_a_recovery_code_signs_in_once(client, owner, paper):
    other = Browser()
    for browser in (client, other):
        password_given(browser)

    answers = [
        code_given(browser, paper[3], "recovery_code").status_code for browser in (client, other)
    ]

    assert answers == [302, 422]


@pytest.mark.parametrize(("minutes", "is_asked"), [(5, True), (5.02, False)])
def test_the_code_has_to_come_within_five_minutes(client, owner, paper, clock, minutes, is_asked):
    password_given(client)
    clock.shift(timedelta(minutes=minutes))

    answer = client.get("/accounts/code/")

    assert (answer.status_code == 200) is is_asked


def test_who_came_too_late_is_told_and_goes_on_to_the_same_place(client, owner, paper, clock):
    password_given(client)
    page = client.get("/accounts/code/")
    clock.shift(timedelta(minutes=6))

    late = send(client, page, "one_time_code", one_time_code=code_of(owner, LATER + 12 * STEP))
    again = client.get(late["Location"])

    assert late["Location"] == "/accounts/login/?next=/properties/"
    assert "That took too long" in again.content.decode()
    assert not is_in(client)


def test_after_five_wrong_codes_the_right_one_is_refused_too(client, owner, paper, clock):
    """6.3.1: of one account at one address, with the wrong passwords; elsewhere it goes on."""
    password_given(client)
    answers = [code_given(client, "000000").status_code for _ in range(5)]
    right = code_given(client, code_of(owner, LATER))
    elsewhere = Browser(REMOTE_ADDR="198.51.100.7")
    password_given(elsewhere)

    assert answers == [422] * 4 + [429]
    assert right.status_code == 429
    assert password_given(Browser()).status_code == 429
    assert code_given(elsewhere, code_of(owner, LATER)).status_code == 302


def test_after_ten_wrong_codes_none_is_taken_from_anywhere(owner, paper, clock):
    for place in (1, 2):
        browser = Browser(REMOTE_ADDR=f"198.51.100.{place}")
        password_given(browser)
        for _try in range(5):
            code_given(browser, "000000")
    third = Browser(REMOTE_ADDR="198.51.100.3")
    password_given(third)

    refused = code_given(third, code_of(owner, LATER))
    clock.shift(timedelta(minutes=15))
    password_given(third)
    later = code_given(third, code_of(owner, LATER + timedelta(minutes=15)))

    assert (refused.status_code, later.status_code) == (429, 302)


def test_passwords_and_codes_are_counted_together(client, owner, paper):
    wrong = {"username": "owner", "password": "another long password"}
    for _try in range(3):
        client.post("/accounts/login/", wrong)
    password_given(client)

    assert [code_given(client, "000000").status_code for _ in range(2)] == [422, 429]


def test_what_is_kept_of_a_wrong_try_holds_no_code(client, owner, paper, clock):
    client.force_login(owner)
    page = client.get("/sign-ins/codes/off/")
    typed = {"password": "not the password", "recovery_code": paper[0]}

    send(client, page, "recovery_code", one_time_code="123 456", **typed)

    kept = AccessAttempt.objects.get()
    assert "123 456" not in kept.post_data
    assert paper[0] not in kept.post_data
    assert "owner" not in kept.post_data


def test_another_password_in_between_ends_what_is_half_way(client, owner, paper):
    password_given(client)
    set_password(owner, "quite another long password", by=None)

    assert client.get("/accounts/code/").status_code == 302


def test_who_was_let_go_in_between_does_not_get_in(client, owner, dispatcher, clock):
    with_codes(dispatcher, NOON)
    password_given(client, "dispatcher")
    let_go(dispatcher, by=owner)

    assert client.get("/accounts/code/").status_code == 302


def test_whoever_was_signed_in_there_is_so_no_more(client, owner, dispatcher, paper):
    client.force_login(dispatcher)

    password_given(client)

    assert not is_in(client)


@pytest.mark.parametrize("address", ["/accounts/code/", "/accounts/first-code/"])
@pytest.mark.parametrize("method", ["get", "post"])
def test_without_a_password_there_is_nothing_to_add_to(client, owner, paper, address, method):
    answer = getattr(client, method)(address, {"one_time_code": code_of(owner, LATER)})

    assert answer["Location"] == "/accounts/login/?next=/"
    assert not is_in(client)


def test_the_page_comes_in_the_language_of_the_person(client, owner, paper):
    Technician.objects.create(user=owner, language="es")

    page = client.get(password_given(client)["Location"])

    assert '<html lang="es">' in page.content.decode()


def test_the_desk_has_no_door_of_its_own(client, owner, paper):
    """6.3.4: every way in asks for the same."""
    owner.is_staff = owner.is_superuser = True
    owner.save()
    typed = {"username": "owner", "password": PASSWORD, "next": "/admin/"}

    asked = client.get("/admin/login/?next=/admin/")
    client.post("/admin/login/", typed)
    closed = client.get("/admin/")
    password_given(client, to="/admin/")
    opened = code_given(client, code_of(owner, LATER))

    assert asked["Location"] == "/accounts/login/?next=/admin/"
    assert closed.status_code == 302
    assert (opened["Location"], client.get("/admin/").status_code) == ("/admin/", 200)


def test_what_was_typed_outlives_a_sign_in_with_a_code(client, owner, paper):
    client.force_login(owner)
    card = form_with(client.get("/clients/new/"), "street")["fields"]
    del client.cookies[settings.SESSION_COOKIE_NAME]

    asked = client.post("/clients/new/", card | {"name": ["Ferry Slip Inn"]})
    send(client, asked, "password", username="owner", password=PASSWORD)
    offered = code_given(client, code_of(owner, LATER))
    send(client, offered, "name")

    assert Client.objects.filter(name="Ferry Slip Inn").exists()


def test_a_code_is_never_held(owner, paper):
    browser = Browser(enforce_csrf_checks=True, headers={"Origin": "http://testserver"})

    answer = browser.post("/accounts/code/", {"recovery_code": paper[0]})

    assert answer.status_code == 403
    assert paper[0] not in answer.content.decode()


def test_no_line_of_the_log_tells_a_code(client, owner, paper, caplog):
    caplog.set_level(logging.DEBUG)
    password_given(client)
    code = code_of(owner, LATER)

    for typed in (code, paper[0]):
        code_given(client, "000000")
        code_given(client, typed)
        password_given(client)

    told = " ".join(str(vars(each)) for each in caplog.records if each.name[:6] != "django")
    assert code not in told
    assert paper[0] not in told
    assert owner.authenticator.seed not in told


@pytest.fixture
def wanted(owner, business, paper):
    """The business wants owner and office to sign in with codes."""
    second_factor.want_codes(are_wanted=True, by=owner)


def first_code(browser):
    """Return the page on which codes are turned on, and the code that the phone shows then."""
    page = browser.get("/accounts/first-code/")
    person = get_user_model().objects.get(pk=browser.session["half_way"]["person"])
    secret = second_factor.secret_of(person, browser.session["codes_seed"])
    return page, code_at(secret, int(LATER.timestamp()))


def test_who_lacks_wanted_codes_turns_them_on_before_anything_opens(client, dispatcher, wanted):
    half = password_given(client, "dispatcher")
    page, code = first_code(client)
    between = is_in(client)
    wrong = send(client, page, "one_time_code", one_time_code="000000")
    shown = send(client, wrong, "one_time_code", one_time_code=code)

    assert half["Location"] == "/accounts/first-code/"
    assert (between, wrong.status_code, shown.status_code) == (False, 422, 200)
    assert shown.content.decode().count("<li><code>") == 10
    assert f'href="{PLACE}"' in shown.content.decode()
    assert is_in(client)
    assert second_factor.is_on(dispatcher)


@pytest.mark.parametrize(("minutes", "is_asked"), [(15, True), (15.02, False)])
def test_setting_up_has_a_quarter_of_an_hour(client, dispatcher, wanted, clock, minutes, is_asked):
    password_given(client, "dispatcher")
    clock.shift(timedelta(minutes=minutes))

    assert (client.get("/accounts/first-code/").status_code == 200) is is_asked


def test_who_has_codes_turns_none_on_by_the_password_alone(client, owner, wanted):
    password_given(client)

    assert client.get("/accounts/first-code/").status_code == 302


def test_who_has_none_types_none(client, dispatcher, wanted):
    password_given(client, "dispatcher")

    answer = client.post("/accounts/code/", {"one_time_code": "000000"})

    assert answer["Location"] == "/accounts/login/?next=/properties/"
    assert not is_in(client)


@pytest.mark.parametrize("name", ["applicator", "technician", "inspector"])
def test_of_other_roles_none_is_wanted(client, wanted, request, name):
    request.getfixturevalue(name)

    assert password_given(client, name, to="/sign-ins/")["Location"] == "/sign-ins/"


def test_what_was_typed_outlives_the_turning_on(client, dispatcher, owner, business, paper):
    client.force_login(dispatcher)
    card = form_with(client.get("/clients/new/"), "street")["fields"]
    second_factor.want_codes(are_wanted=True, by=owner)

    asked = client.post("/clients/new/", card | {"name": ["Ferry Slip Inn"]})
    send(client, asked, "password", username="dispatcher", password=PASSWORD)
    page, code = first_code(client)
    shown = send(client, page, "one_time_code", one_time_code=code)
    send(client, shown, "name")

    assert shown.content.decode().count("<li><code>") == 10
    assert Client.objects.filter(name="Ferry Slip Inn").exists()


def test_a_program_with_a_key_is_asked_for_no_code(client, dispatcher, wanted, owner):
    key = make_key(
        dispatcher,
        name="an invented program",
        scopes=["read"],
        expires_on=LATER.date() + timedelta(days=30),
        by=owner,
        now=LATER,
    )

    answer = client.get("/api/v1/yards/", headers={"Authorization": f"Bearer {key}"})

    assert answer.status_code == 200
