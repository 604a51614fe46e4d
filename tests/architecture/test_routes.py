"""Who may do what at every address: the table of addresses, the matrix, and what really answers."""

import re
from contextlib import contextmanager

import pytest
from django.db import transaction
from django.test import Client
from django.urls import get_resolver
from rest_framework.throttling import SimpleRateThrottle

from clients.access import Role
from services.second_factor import want_codes
from tests.architecture.addresses import METHODS, addresses, routes, walked
from tests.architecture.conftest import ROLES
from tests.book import NOW
from tests.services.test_second_factor import with_codes

pytestmark = pytest.mark.django_db

SAFE = "get"
# How an address answers somebody who may not be there.
REFUSALS = (401, 403, 404)
FORBIDDEN_METHOD = 405
SIGN_IN = "/accounts/login/?next="
PASSWORD = "one long password to test with"


@pytest.fixture(autouse=True)
def refusals_are_quiet(caplog):
    """Thousands of refusals are meant; only what fails is told."""
    caplog.set_level("ERROR", "django.request")


@pytest.fixture(autouse=True)
def nobody_asks_too_often(monkeypatch):
    """A thousand requests in one stopped moment are meant."""
    monkeypatch.setattr(SimpleRateThrottle, "THROTTLE_RATES", {"user": None, "anon": None})


def is_refused(answer):
    asked_to_sign_in = answer.status_code == 302 and answer["Location"].startswith(SIGN_IN)
    return answer.status_code in REFUSALS or asked_to_sign_in


def is_let_in(answer):
    fine = answer.status_code < 500 and answer.status_code != FORBIDDEN_METHOD
    return fine and not is_refused(answer)


@contextmanager
def nothing_kept():
    """Take back what a request changes, so that the next one finds the same book."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def ask(browser, method, path):
    """Send a request with nothing in it, and leave book and browser as they were."""
    cookies = browser.cookies.copy()
    body = {"content_type": "application/json", "data": "{}"} if path.startswith("/api/") else {}
    with nothing_kept():
        answer = getattr(browser, method)(path, **({} if method == SAFE else body))
    browser.cookies = cookies
    return answer


def methods_of(address):
    """Return the methods that are tried: pages know two, the API all."""
    return METHODS if address.route.startswith("api/") else METHODS[:2]


def asked(browser, things, wanted):
    """Ask at every address, by each method that is wanted there; yield the answers."""
    for address in addresses():
        path = address.filled(things)
        for method in methods_of(address):
            if wanted(address, method):
                yield address, method, ask(browser, method, path)


def said(address, method, answer):
    return f"{method.upper()} {address.route} answers {answer.status_code}"


def is_as_it_should_be(role, address, method, answer):
    if role in address.allowed(method):
        return is_let_in(answer)
    return is_refused(answer) or answer.status_code == FORBIDDEN_METHOD


def without_marks(answer):
    """Return a page without its own address and the marks that are new on every one."""
    page = answer.content.replace(answer.request["PATH_INFO"].encode(), b"")
    return re.sub(rb'csrfmiddlewaretoken" value="\w+"', b"", page)


def test_every_address_stands_in_the_matrix_and_no_other():
    assert {address.route for address in addresses()} == routes()


@pytest.mark.slow
@pytest.mark.parametrize("role", ROLES)
def test_a_role_does_what_the_matrix_says_and_nothing_else(role, visitor, things):
    wrong = [
        said(*each)
        for each in asked(visitor(role), things, lambda *_: True)
        if not is_as_it_should_be(role, *each)
    ]

    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
@pytest.mark.parametrize("step", ["accounts/code/", "accounts/first-code/"])
def test_the_password_alone_opens_but_the_page_that_asks_for_the_code(step, book, things):
    codes_asked_of(book, step)
    browser = Client(raise_request_exception=False)
    name = book.people[Role.OFFICE].get_username()
    answer = browser.post("/accounts/login/", {"username": name, "password": PASSWORD})

    def is_elsewhere(address, _method):
        return address.route not in ("accounts/login/", step)

    wrong = [
        said(*each)
        for each in asked(browser, things, is_elsewhere)
        if not is_as_it_should_be("stranger", *each)
    ]

    assert answer["Location"] == f"/{step}"
    assert browser.get(f"/{step}").status_code == 200
    assert not wrong, "\n".join(wrong)


def codes_asked_of(book, step):
    """Give the office codes, or have the business want them of an office that has none."""
    if step == "accounts/code/":
        with_codes(book.people[Role.OFFICE], NOW)
        return
    with_codes(book.people[Role.OWNER], NOW)
    want_codes(are_wanted=True, by=book.people[Role.OWNER])


@pytest.mark.parametrize("role", ["technician", "client", "phone"])
def test_what_is_not_theirs_is_as_if_it_were_not_there(role, book, visitor, things):
    def is_somebodys(address, method):
        return role in address.allowed(method) and address.is_of_somebody()

    answers = asked(visitor(role), things | book.foreign, is_somebodys)
    wrong = [said(*each) for each in answers if each[-1].status_code != 404]

    assert not wrong, "\n".join(wrong)


def test_an_applicator_schedules_only_what_the_own_crew_does(book, visitor, things):
    def is_for_the_own(address, method):
        return "applicator" in address.rights.get("own", []) and method in address.rights

    answers = asked(visitor("applicator"), things | book.foreign, is_for_the_own)
    wrong = [said(*each) for each in answers if each[-1].status_code not in (403, 404)]

    assert not wrong, "\n".join(wrong)


def test_a_foreign_thing_answers_like_one_that_is_not_there(book, visitor, things):
    browser = visitor("technician")
    foreign = browser.get(f"/properties/{book.foreign['property_id']}/")
    missing = browser.get("/properties/999999/")

    assert foreign.status_code == missing.status_code == 404
    assert without_marks(foreign) == without_marks(missing)


def test_the_lists_of_the_api_hold_nothing_foreign(book, visitor, things):
    def is_list(address, method):
        is_of_api = address.route.startswith("api/v1/") and "<" not in address.route
        return method == SAFE and is_of_api and "technician" in address.allowed(method)

    answers = asked(visitor("technician"), things, is_list)
    wrong = [said(*each) for each in answers if b"Quarry" in each[-1].content]

    assert not wrong, "\n".join(wrong)


@pytest.mark.once  # it is refused before the book is asked
@pytest.mark.parametrize("role", Role.values)
def test_nothing_is_sent_without_the_mark_of_the_own_page(role, book, visitor, things):
    browser = Client(enforce_csrf_checks=True, raise_request_exception=False)
    browser.force_login(book.people[Role(role)])

    def takes_the_mark(address, method):
        return method != SAFE and "unmarked" not in address.rights

    answers = asked(browser, things, takes_the_mark)
    wrong = [said(*each) for each in answers if each[-1].status_code not in (401, 403, 404, 405)]

    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("role", ROLES)
def test_the_owners_desk_is_closed_to_who_was_not_let_in(role, visitor):
    browser, open_to_all = visitor(role), []
    for route, _view in walked(get_resolver().url_patterns):
        if route.startswith("admin/") and "<" not in route:
            answer = browser.get(f"/{route}")
            if answer.status_code == 200 and route != "admin/login/":
                open_to_all.append(route)

    assert open_to_all == []


def test_the_owners_desk_opens_to_who_was_let_in(book, visitor):
    owner = book.people[Role.OWNER]
    owner.is_staff = owner.is_superuser = True
    owner.save()

    assert visitor("owner").get("/admin/").status_code == 200
