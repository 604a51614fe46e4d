"""The first pages: a new book, signing in, and where each person begins."""

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model

from clients.access import Role, role_of
from services.models import Technician
from services.showing.beginning import first_steps

PASSWORD = "a hedge by the river"
TYPED = {
    "first_name": "Alba",
    "last_name": "Ferreira",
    "email": "",
    "username": "alba",
    "password": PASSWORD,
    "again": PASSWORD,
}


def test_a_new_book_begins_with_its_owner(client, db):
    assert client.get("/").url == "/begin/"
    assert "A new book" in client.get("/begin/").content.decode()


def test_the_first_to_sign_up_is_the_owner_and_is_signed_in(client, db):
    answer = client.post("/begin/", TYPED)
    user = get_user_model().objects.get()

    assert role_of(user) is Role.OWNER
    assert answer.url == "/business/"
    assert client.get("/week/").status_code == 200


def test_once_somebody_is_in_the_book_there_is_no_beginning(client, owner):
    assert client.get("/begin/").status_code == 404
    assert client.post("/begin/", TYPED).status_code == 404
    assert get_user_model().objects.count() == 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"again": "another"},
        {"password": "short", "again": "short"},
        {"username": ""},
        {"email": "nowhere"},
    ],
)
def test_a_wrong_sign_up_signs_up_nobody(client, db, wrong):
    answer = client.post("/begin/", TYPED | wrong)

    assert answer.status_code == 422
    assert not get_user_model().objects.exists()


def test_all_that_is_wrong_with_a_sign_up_is_said_at_once_and_once(client, db):
    form = client.post("/begin/", {"username": "alba", "password": "short", "again": ""}).context[
        "form"
    ]

    assert set(form.errors) == {"first_name", "last_name", "password", "again"}
    assert {len(errors) for name, errors in form.errors.items() if name != "password"} == {1}


@pytest.mark.parametrize(
    ("who", "where"),
    [
        ("owner", "/week/"),
        ("dispatcher", "/week/"),
        ("technician", "/day/"),
        ("inspector", "/records/"),
    ],
)
def test_each_person_begins_where_the_work_is(client, request, who, where):
    client.force_login(request.getfixturevalue(who))

    assert client.get("/").url == where


def test_a_stranger_is_asked_to_sign_in(client, owner):
    assert client.get("/").url.startswith("/accounts/login/")


def test_the_pages_turn_to_the_language_of_who_signs_in(client, technician):
    Technician.objects.filter(user=technician).update(language="es")
    signing = {"username": "technician", "password": "one long password to test with"}
    answer = client.post("/accounts/login/", signing)

    assert answer.cookies[settings.LANGUAGE_COOKIE_NAME].value == "es"
    assert 'lang="es"' in client.get("/day/").content.decode()


def test_who_has_no_language_keeps_that_of_the_browser(client, owner):
    signing = {"username": "owner", "password": "one long password to test with"}
    answer = client.post("/accounts/login/", signing)

    assert settings.LANGUAGE_COOKIE_NAME not in answer.cookies


def test_every_first_step_can_be_opened(client, owner, db):
    client.force_login(owner)

    for step in first_steps():
        assert client.get(step.url).status_code == 200


def test_a_step_that_was_taken_is_done(business, crew):
    done = [step.is_done for step in first_steps()]

    # business, yard, crew, certificate; no calibration; the truck
    assert done[:6] == [True, True, True, True, False, True]
    assert not done[-1]


def test_the_first_crew_begins_with_the_yard_and_whoever_is_there(client, owner, yard):
    Technician.objects.create(user=owner)
    client.force_login(owner)

    begun = client.get("/crews/new/").context["form"]

    assert begun["yard"].value() == yard.pk
    assert begun["people"].value() == [owner.technician.pk]
    assert begun["weekdays"].value() == ["0", "1", "2", "3", "4", "5"]


def test_another_crew_takes_nobody_from_the_first(client, owner, crew):
    client.force_login(owner)

    begun = client.get("/crews/new/").context["form"]

    assert not begun["people"].value()


def test_the_first_to_apply_is_most_likely_who_enters_it(client, owner):
    client.force_login(owner)

    begun = client.get("/applicators/new/").context["form"]

    assert begun["user"].value() == owner.pk


def test_steps_begin_at_the_form_as_long_as_there_is_none(owner, sprayer):
    steps = [step.url for step in first_steps()]

    assert "/applicators/new/" in steps
    assert "/sprayers/" in steps


def test_a_step_that_was_begun_says_what_is_missing(client, owner, sprayer):
    client.force_login(owner)
    page = client.get("/week/").content.decode()

    assert "what it puts out is still to be measured" in page
    assert "a certificate is still missing" not in page


def test_pages_lead_back_to_the_first_steps_until_there_is_a_course(client, owner, request):
    client.force_login(owner)
    back = "The first steps of this book"
    before, steps = client.get("/people/"), client.get("/week/")
    during = client.get("/people/")
    request.getfixturevalue("visits")
    week, after = client.get("/week/"), client.get("/people/")

    said = [back in page.content.decode() for page in (before, steps, during, week, after)]
    assert said == [False, False, True, False, False]
