"""A program signs in by a key [RFC 6750], as a person and within its scopes."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from services.models import ProgramKey
from services.program_keys import make_key, revoke_key


@pytest.fixture
def program():
    return APIClient()


def key_of(person, by, scopes=("read",), days=30):
    now = timezone.now()
    return make_key(
        person,
        name="Accounts",
        scopes=list(scopes),
        expires_on=now.date() + timedelta(days=days),
        by=by,
        now=now,
    )


def sent(program, key, word="Bearer"):
    program.credentials(HTTP_AUTHORIZATION=f"{word} {key}")
    return program


CLIENTS = "/api/v1/clients/"


def test_a_program_reads_what_the_person_may_read(program, owner, reading_society):
    answer = sent(program, key_of(owner, owner)).get(CLIENTS)

    assert answer.status_code == 200
    assert answer.json()["results"][0]["name"] == "Reading Society"
    assert ProgramKey.objects.get().used_at is not None


@pytest.mark.parametrize(
    ("scopes", "status"),
    [
        pytest.param(["read"], 403, id="a key that only reads"),
        pytest.param(["write:services"], 403, id="a key for another part"),
        pytest.param(["write:clients"], 201, id="a key for this part"),
    ],
)
def test_what_the_scopes_do_not_name_is_refused(program, owner, scopes, status):
    sent(program, key_of(owner, owner, scopes))

    answer = program.post(CLIENTS, {"name": "Town of Nowhere", "language": "en"}, format="json")

    assert answer.status_code == status, answer.json()


def test_a_key_without_reading_reads_nothing(program, owner):
    assert sent(program, key_of(owner, owner, ["write:clients"])).get(CLIENTS).status_code == 403


def test_scopes_never_widen_a_role(program, owner, technician):
    key = key_of(technician, owner, ["read", "write:clients"])

    answer = sent(program, key).post(CLIENTS, {"name": "Mine"}, format="json")

    assert answer.status_code == 403


@pytest.mark.parametrize(
    "spoilt",
    [
        pytest.param(lambda key, row: key[:-1], id="cut off"),
        pytest.param(lambda key, row: "", id="empty"),
        pytest.param(lambda key, row: f"{key} {key}", id="twice"),
        pytest.param(lambda key, row: "ключ", id="no ASCII"),
    ],
)
def test_a_wrong_key_is_told_so(program, owner, reading_society, spoilt):
    key = key_of(owner, owner)
    word = spoilt(key, ProgramKey.objects.get()).encode("utf-8").decode("latin-1")

    answer = sent(program, word).get(CLIENTS)

    # 401 with the scheme that is asked for [RFC 6750, section 3]
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Bearer"


def test_a_key_that_was_taken_back_opens_nothing(program, owner):
    key = key_of(owner, owner)
    assert revoke_key(ProgramKey.objects.get(), at=timezone.now())
    assert not revoke_key(ProgramKey.objects.get(), at=timezone.now())

    assert sent(program, key).get(CLIENTS).status_code == 401


def test_a_key_ends_with_its_last_day(program, owner):
    assert sent(program, key_of(owner, owner, days=-1)).get(CLIENTS).status_code == 401


def test_a_key_ends_with_its_person(program, owner, technician):
    key = key_of(technician, owner)
    technician.is_active = False
    technician.save()

    assert sent(program, key).get(CLIENTS).status_code == 401


def test_the_book_keeps_no_key(owner):
    key = key_of(owner, owner)

    assert key.startswith("duskbook_")
    assert key not in str(ProgramKey.objects.values())


def test_a_page_takes_no_key(client, owner):
    key = key_of(owner, owner)

    answer = client.get(reverse("services:week"), headers={"authorization": f"Bearer {key}"})

    assert answer.status_code == 302


def test_the_owner_makes_one_sees_it_once_and_takes_it_back(client, owner):
    client.force_login(owner)
    typed = {
        "name": "Accounts",
        "person": owner.pk,
        "scopes": ["read"],
        "expires_on": timezone.localdate() + timedelta(days=30),
    }

    made = client.post(reverse("services:new_key"), typed).content.decode()
    listed = client.get(reverse("services:programs")).content.decode()

    assert "duskbook_" in made
    assert "duskbook_" not in listed
    client.post(reverse("services:revoke_key", args=[ProgramKey.objects.get().pk]))
    assert ProgramKey.objects.get().revoked_at is not None


@pytest.mark.parametrize(
    "wrong",
    [
        {"scopes": []},
        {"scopes": ["everything"]},
        {"expires_on": date(2020, 1, 1)},
        {"expires_on": date(2999, 1, 1)},
        {"name": ""},
    ],
)
def test_a_key_that_makes_no_sense_is_not_made(client, owner, wrong):
    client.force_login(owner)
    typed = {
        "name": "Accounts",
        "person": owner.pk,
        "scopes": ["read"],
        "expires_on": timezone.localdate() + timedelta(days=30),
    }

    assert client.post(reverse("services:new_key"), typed | wrong).status_code == 422
    assert not ProgramKey.objects.exists()
