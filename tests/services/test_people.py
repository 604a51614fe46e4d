"""Who signs in and as what."""

from threading import Thread

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.exceptions import ValidationError
from django.db import connection

from clients.access import Role, role_of
from clients.sessions import end_sessions
from services.people import add_person, first_owner, let_go, set_role

PASSWORD = "a hedge by the river"


def test_the_first_person_of_a_new_book_is_its_owner(db):
    user = first_owner(username="alba", password=PASSWORD)

    assert role_of(user) is Role.OWNER


def test_there_is_no_second_first_owner(db):
    first_owner(username="alba", password=PASSWORD)

    with pytest.raises(ValidationError) as refused:
        first_owner(username="bruno", password=PASSWORD)

    assert refused.value.code == "not_new"


def test_a_short_password_is_refused_and_nobody_is_signed_up(db):
    with pytest.raises(ValidationError):
        first_owner(username="alba", password="hedge")

    assert not get_user_model().objects.exists()


@pytest.mark.parametrize("role", Role)
def test_the_migration_made_a_group_of_each_role(db, role):
    assert Group.objects.filter(name=role).exists()


def test_a_person_is_added_to_a_crew_with_a_language(crew, owner):
    user = add_person(
        username="chela", role=Role.TECHNICIAN, by=owner, crew=crew, language="es", first_name="Ch"
    )

    assert (user.technician.crew, user.technician.language) == (crew, "es")
    assert role_of(user) is Role.TECHNICIAN


def test_a_person_without_a_password_cannot_sign_in_yet(owner):
    user = add_person(username="chela", role=Role.TECHNICIAN, by=owner)

    assert not user.has_usable_password()


def test_the_same_sign_in_cannot_be_given_twice(owner):
    add_person(username="chela", role=Role.OFFICE, by=owner)

    with pytest.raises(ValidationError):
        add_person(username="chela", role=Role.OFFICE, by=owner)


def test_a_person_has_one_role_at_a_time(owner, dispatcher):
    set_role(dispatcher, Role.APPLICATOR, by=owner)

    assert list(dispatcher.groups.values_list("name", flat=True)) == ["applicator"]
    assert role_of(dispatcher) is Role.APPLICATOR


def test_the_same_role_given_again_changes_nothing(owner, dispatcher):
    first = set_role(dispatcher, Role.APPLICATOR, by=owner)
    second = set_role(dispatcher, Role.APPLICATOR, by=owner)

    assert (first, second) == (True, False)


@pytest.mark.parametrize(
    "act", [lambda u: set_role(u, Role.OFFICE, by=u), lambda u: let_go(u, by=u)]
)
def test_the_last_owner_stays(owner, act):
    with pytest.raises(ValidationError) as refused:
        act(owner)

    assert refused.value.code == "last_owner"


def test_one_of_two_owners_may_go(owner, dispatcher):
    set_role(dispatcher, Role.OWNER, by=owner)

    assert let_go(owner, by=dispatcher)
    assert not let_go(owner, by=dispatcher)


def test_an_owner_who_was_let_go_does_not_count(owner, dispatcher):
    set_role(dispatcher, Role.OWNER, by=owner)
    let_go(owner, by=dispatcher)

    with pytest.raises(ValidationError):
        set_role(dispatcher, Role.OFFICE, by=dispatcher)


def test_a_change_of_role_signs_the_person_out(client, owner, dispatcher):
    client.force_login(dispatcher)

    set_role(dispatcher, Role.TECHNICIAN, by=owner)

    assert end_sessions(dispatcher) == 0
    assert "_auth_user_id" not in client.session


def test_others_stay_signed_in(client, owner, dispatcher):
    client.force_login(owner)

    set_role(dispatcher, Role.TECHNICIAN, by=owner)

    assert client.session["_auth_user_id"] == str(owner.pk)


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_of_two_who_sign_up_at_once_one_becomes_the_owner():
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")

    threads = [Thread(target=sign_up, args=(name,)) for name in ("alba", "bruno", "chela")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert get_user_model().objects.count() == 1


def sign_up(name):
    try:
        first_owner(username=name, password=PASSWORD)
    except ValidationError as refused:
        assert refused.code == "not_new"  # noqa: PT017 - in a thread nothing can be raised
    finally:
        connection.close()
