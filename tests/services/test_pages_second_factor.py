"""The pages of one-time codes: a person's own, and those of the owner about others."""

import re

import pytest
import time_machine
from django.test import Client as Browser
from segno import make_qr

from services import second_factor
from services.models import Authenticator
from services.rules.one_time_codes import address_of, code_at, in_letters
from services.second_factor import secret_of
from tests.filling import send
from tests.services.test_second_factor import LATER, NOON, code_of, with_codes
from treatments.models import Business

PASSWORD = "one long password to test with"
CODES, ON, RENEW, OFF = [f"/sign-ins/codes/{each}" for each in ("", "on/", "renew/", "off/")]
WANTED = "/sign-ins/codes/wanted/"


@pytest.fixture
def clock():
    """Stop the clock well after the code that turned codes on."""
    with time_machine.travel(LATER, tick=False) as stopped:
        yield stopped


@pytest.fixture
def paper(client, owner, clock):
    """The recovery codes of the owner, who has turned codes on and signed in."""
    codes = with_codes(owner, NOON)
    client.force_login(owner)
    return codes


@pytest.fixture
def desk(client, owner, clock):
    """The owner, signed in."""
    client.force_login(owner)
    return client


def secret_in(browser, person):
    return secret_of(person, browser.session["codes_seed"])


def turned_on(browser, person, password=PASSWORD):
    page = browser.get(ON)
    code = code_at(secret_in(browser, person), int(LATER.timestamp()))
    return send(browser, page, "one_time_code", one_time_code=code, password=password)


def confirmed(browser, address, code, password=PASSWORD):
    page = browser.get(address)
    return send(browser, page, "one_time_code", one_time_code=code, password=password)


def text(answer):
    return answer.content.decode()


def paths_in(drawing):
    return re.findall(r' d="([^"]+)"', drawing)


def test_codes_are_off_at_first_and_said_to_be(desk):
    page = text(desk.get(CODES))

    assert "Off: the password alone signs you in." in page
    assert f'href="{ON}"' in page


def test_the_page_shows_the_secret_in_groups_and_as_an_address(desk, owner, business):
    page = text(desk.get(ON))
    secret = secret_in(desk, owner)
    letters = in_letters(secret)

    assert " ".join(letters[place : place + 4] for place in range(0, 32, 4)) in page
    assert address_of(secret, name="owner", issuer=business.name).replace("&", "&amp;") in page


def test_the_qr_code_is_that_of_the_same_address(desk, owner, business):
    """What is drawn is what the library draws of this address and of no other."""
    page = text(desk.get(ON))
    drawn = page[page.index("<svg") : page.index("</svg>") + 6]
    address = address_of(secret_in(desk, owner), name="owner", issuer=business.name)

    expected = make_qr(address, error="m").svg_inline(scale=5, border=4, light="#fff", dark="#000")
    other = make_qr(address + "0", error="m").svg_inline(scale=5, border=4)

    assert paths_in(drawn) == paths_in(expected)
    assert paths_in(drawn) != paths_in(other)


def test_the_secret_stays_the_same_until_it_is_used(desk, owner):
    first, again = (text(desk.get(ON)) for _ in range(2))
    letters = in_letters(secret_in(desk, owner))[:4]

    assert letters in first
    assert letters in again


def test_a_secret_is_kept_by_nobody_on_the_way(desk):
    assert "no-store" in desk.get(ON)["Cache-Control"]


def test_they_are_on_by_password_and_code_and_ten_recovery_codes_are_shown_once(desk, owner):
    shown = turned_on(desk, owner)

    assert text(shown).count("<li><code>") == 10
    assert "no-store" in shown["Cache-Control"]
    assert second_factor.is_on(owner)
    later = text(desk.get(CODES))
    assert "10 recovery codes are left" in later
    assert "<li><code>" not in later
    assert desk.get(ON).status_code == 302
    assert "codes_seed" not in desk.session


def test_turning_them_on_ends_the_persons_other_sign_ins(desk, owner):
    other = Browser()
    other.force_login(owner)

    turned_on(desk, owner)

    assert other.get(CODES).status_code == 302
    assert desk.get(CODES).status_code == 200


@pytest.mark.parametrize(
    ("code", "password", "said"),
    [
        ("000000", PASSWORD, "does not fit"),
        (None, "not the password", "not your password"),
        ("", PASSWORD, "required"),
        (None, "", "required"),
    ],
)
def test_without_a_right_code_or_the_password_they_stay_off(desk, owner, code, password, said):
    page = desk.get(ON)
    right = code_at(secret_in(desk, owner), int(LATER.timestamp()))
    typed = right if code is None else code

    answer = send(desk, page, "password", one_time_code=typed, password=password)

    assert answer.status_code == 422
    assert said in text(answer)
    assert not second_factor.is_on(owner)


def test_five_wrong_passwords_here_lock_out_as_at_the_door(desk, owner, paper):
    answers = [confirmed(desk, OFF, "000000", "wrong").status_code for _ in range(5)]

    assert answers == [422] * 4 + [429]
    assert confirmed(desk, OFF, code_of(owner, LATER)).status_code == 429
    assert second_factor.is_on(owner)


def test_five_wrong_codes_here_do_too(desk, owner, paper):
    answers = [confirmed(desk, OFF, "000000").status_code for _ in range(5)]

    assert answers == [422] * 4 + [429]
    assert second_factor.is_on(owner)


def test_a_wrong_password_uses_no_code_up(desk, owner, paper):
    confirmed(desk, OFF, code_of(owner, LATER), "wrong")

    assert confirmed(desk, OFF, code_of(owner, LATER)).status_code == 302


def test_recovery_codes_are_made_anew_by_password_and_code(desk, owner, paper):
    shown = confirmed(desk, RENEW, code_of(owner, LATER))

    assert text(shown).count("<li><code>") == 10
    assert not second_factor.take_code(owner, paper[0], now=LATER)


def test_they_are_turned_off_by_password_and_recovery_code(desk, owner, paper):
    page = desk.get(OFF)

    send(desk, page, "recovery_code", recovery_code=paper[0], password=PASSWORD)

    assert not second_factor.is_on(owner)
    assert "the password alone signs you in from now on" in text(desk.get(CODES))


def test_turned_off_where_they_are_wanted_the_sign_in_ends_too(desk, owner, paper, business):
    second_factor.want_codes(are_wanted=True, by=owner)

    answer = confirmed(desk, OFF, code_of(owner, LATER))

    assert answer["Location"] == "/accounts/login/"
    assert "turn them on again" in text(desk.get("/accounts/login/"))
    assert desk.get(CODES).status_code == 302


@pytest.mark.parametrize("address", [RENEW, OFF])
def test_who_has_none_has_none_to_change(desk, address):
    assert desk.get(address)["Location"] == CODES


@pytest.mark.parametrize("address", [CODES, ON, RENEW, OFF, WANTED])
def test_a_stranger_is_asked_to_sign_in(client, db, address):
    assert client.get(address)["Location"].startswith("/accounts/login/")


@pytest.mark.parametrize("name", ["dispatcher", "technician", "inspector"])
def test_every_role_turns_on_its_own(client, clock, request, name):
    person = request.getfixturevalue(name)
    client.force_login(person)

    turned_on(client, person)

    assert Authenticator.objects.get().person == person


def test_who_has_no_role_turns_on_the_own_too(client, clock, django_user_model):
    """The emergency desk reads everything, so that its people may want a code as well."""
    person = django_user_model.objects.create_superuser("desk", password=PASSWORD)
    client.force_login(person)

    turned_on(client, person)

    assert second_factor.is_on(person)


def test_an_owner_takes_them_off_who_lost_the_phone(desk, dispatcher):
    with_codes(dispatcher, NOON)
    other = Browser()
    other.force_login(dispatcher)
    address = f"/people/{dispatcher.pk}/codes-off/"
    listed = text(desk.get("/people/"))

    asked = desk.get(address)
    done = desk.post(address)

    assert address in listed
    assert "be sure that it is the person who asks" in text(asked)
    assert done["Location"] == "/people/"
    assert not second_factor.is_on(dispatcher)
    assert other.get(CODES).status_code == 302
    assert address not in text(desk.get("/people/"))


def test_the_own_an_owner_turns_off_by_password_and_code(desk, owner, paper):
    assert desk.post(f"/people/{owner.pk}/codes-off/")["Location"] == OFF
    assert second_factor.is_on(owner)


def test_nobody_but_an_owner_takes_them_off(client, dispatcher, owner, paper):
    client.force_login(dispatcher)

    assert client.post(f"/people/{owner.pk}/codes-off/").status_code == 403
    assert second_factor.is_on(owner)


def test_the_owner_asks_owners_and_office_for_codes(desk, owner, dispatcher, business, paper):
    page = desk.get(WANTED)
    told = send(desk, page, "csrfmiddlewaretoken", to=WANTED, are_wanted="on")

    assert dispatcher.get_username() in text(page)
    assert told["Location"] == WANTED
    assert Business.objects.get().needs_codes
    assert "checked" in text(desk.get(WANTED))
    assert "The business asks owners and office for them." in text(desk.get(CODES))


def test_the_owner_asks_no_more(desk, owner, business, paper):
    second_factor.want_codes(are_wanted=True, by=owner)

    desk.post(WANTED, {})

    assert not Business.objects.get().needs_codes


def test_an_owner_without_codes_asks_nobody_for_them(desk, business):
    answer = desk.post(WANTED, {"are_wanted": "on"})

    assert answer.status_code == 422
    assert "Turn codes on for yourself first." in text(answer)
    assert not Business.objects.get().needs_codes


def test_a_program_neither_reads_nor_changes_whether_codes_are_wanted(api, owner, business):
    api.force_login(owner)

    told = api.get("/api/v1/business/").data
    api.patch("/api/v1/business/", {"needs_codes": True})

    assert "needs_codes" not in str(told)
    assert not Business.objects.get().needs_codes


def test_the_list_of_people_asks_no_more_for_who_has_codes(desk, owner, crew, count_queries):
    before = count_queries("/people/")
    with_codes(owner, NOON)
    desk.force_login(owner)

    assert count_queries("/people/") == before
