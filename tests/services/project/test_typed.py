"""What was typed while a person was signed out, or signed in anew, is offered again."""

import pytest
from django.conf import settings
from django.test import Client as Browser

from clients.models import Client
from tests.filling import form_with, send

PASSWORD = "one long password to test with"
ORIGIN = "http://testserver"


@pytest.fixture
def browser():
    """A browser that is held to the mark of the own page, as real ones are."""
    return Browser(enforce_csrf_checks=True, headers={"Origin": ORIGIN})


@pytest.fixture
def typed(browser, owner):
    """A client's card, filled in on a page of the owner's, and not sent yet."""
    browser.force_login(owner)
    form = form_with(browser.get("/clients/new/"), "street")
    return form["fields"] | {"name": ["Ferry Slip Inn & <Sons>"], "note": ["two\r\nlines"]}


def sign_in(browser, page, password=PASSWORD):
    return send(browser, page, "password", username="owner", password=password)


def kept():
    return list(Client.objects.values_list("name", "note"))


def test_what_was_typed_outlives_the_sign_in(browser, typed):
    del browser.cookies[settings.SESSION_COOKIE_NAME]

    asked = browser.post("/clients/new/", typed)
    refused = sign_in(browser, asked, "the wrong one")
    offered = sign_in(browser, refused)
    sent = send(browser, offered, "name")

    assert (asked.status_code, offered.status_code, sent.status_code) == (403, 200, 302)
    assert "sign in, and send it again" in asked.content.decode()
    assert kept() == [("Ferry Slip Inn & <Sons>", "two\r\nlines")]


def test_a_page_that_stood_open_over_a_sign_in_is_sent_again(browser, typed, owner):
    sign_in(browser, browser.get("/accounts/login/"))  # gives the browser another mark

    offered = browser.post("/clients/new/", typed)
    before = kept()
    send(browser, offered, "name")

    assert "What you typed is still here" in offered.content.decode()
    assert before == []
    assert [name for name, _note in kept()] == ["Ferry Slip Inn & <Sons>"]


def test_a_form_from_elsewhere_is_not_offered(browser, typed):
    del typed["csrfmiddlewaretoken"]

    answer = browser.post("/clients/new/", typed, headers={"Origin": "https://other.example"})

    assert answer.status_code == 403
    assert "Ferry Slip Inn" not in answer.content.decode()


def test_a_password_is_never_held(browser, owner):
    typed = {"username": "benita", "password1": "a long one of mine", "password2": "another"}
    browser.get("/accounts/login/")

    answer = browser.post("/people/new/", typed)

    assert "a long one of mine" not in answer.content.decode()
    assert "typed" not in answer.content.decode()


def test_a_text_that_is_none_of_ours_only_signs_in(browser, owner):
    page = browser.get("/accounts/login/")

    answer = send(browser, page, "password", username="owner", password=PASSWORD, typed="made up")

    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_an_address_that_is_only_sent_to_says_so(client, owner):
    client.force_login(owner)

    answer = client.get("/signs/NY/confirm/")

    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "only takes what a page sends" in answer.content.decode()
