"""Pages of people, crews, yards and trucks; certificates and how long they hold."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse

from clients.access import Role, role_of
from services.models import Crew, Technician, Truck, Yard
from services.people import add_person
from treatments.lapsing import expiry_in_words

PASSWORD = "a hedge by the river"
TODAY = date(2026, 7, 6)
NEW = {
    "first_name": "Chela",
    "last_name": "Ortiz",
    "username": "chela",
    "email": "",
    "role": "technician",
    "language": "es",
    "password": PASSWORD,
    "again": PASSWORD,
}


@pytest.fixture
def as_owner(client, owner):
    """The owner, signed in."""
    client.force_login(owner)
    return client


@pytest.mark.parametrize(
    ("days", "words", "is_urgent"),
    [
        (-1, "lapsed", True),
        (0, "lapses today", True),
        (1, "lapses in 1 day", True),
        (7, "lapses in 7 days", True),
        (30, "lapses in 30 days", True),
        (60, "lapses in 60 days", True),
        (61, "valid", False),
    ],
)
def test_a_certificate_is_told_by_what_is_left_of_it(days, words, is_urgent):
    # 60, 30 and 7 days before the end: common practice
    assert expiry_in_words(TODAY + timedelta(days=days), TODAY) == (words, is_urgent)


def test_the_page_shows_crews_trucks_and_certificates(as_owner, crew, technician, on_monday):
    page = as_owner.get("/people/").content.decode()

    for word in ("Crew one", "Truck one", "50 gallons of water", "Backpack 1", "PA-0007"):
        assert word in page


def test_a_person_is_added_and_signs_in(as_owner, client, crew):
    as_owner.post("/people/new/", NEW | {"crew": crew.pk})
    user = get_user_model().objects.get(username="chela")

    assert (role_of(user), user.technician.crew) == (Role.TECHNICIAN, crew)
    assert user.check_password(PASSWORD)


def test_without_a_password_nobody_signs_in_as_the_person(as_owner):
    as_owner.post("/people/new/", NEW | {"password": "", "again": ""})

    assert not get_user_model().objects.get(username="chela").has_usable_password()


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"again": "another"}, "This is not the same password."),
        ({"password": "short", "again": "short"}, "too short"),
        ({"username": "owner"}, "already exists"),
        ({"username": "with blank"}, "valid username"),
        ({"role": "king"}, "king"),
    ],
)
def test_what_is_wrong_with_a_new_person_is_said(as_owner, wrong, sentence):
    answer = as_owner.post("/people/new/", NEW | wrong)

    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not get_user_model().objects.filter(username="chela").exists()


def test_adding_twice_adds_one(as_owner):
    as_owner.post("/people/new/", NEW)
    again = as_owner.post("/people/new/", NEW)

    assert again.status_code == 422
    assert get_user_model().objects.filter(username="chela").count() == 1


def test_a_role_is_changed_and_the_person_signs_in_anew(as_owner, technician):
    address = reverse("services:change_role", args=[technician.pk])
    as_owner.post(address, {"role": "office"})

    assert role_of(get_user_model().objects.get(pk=technician.pk)) is Role.OFFICE


def test_the_only_owner_stays(as_owner, owner):
    answer = as_owner.post(reverse("services:change_role", args=[owner.pk]), {"role": "office"})
    as_owner.post(reverse("services:let_go", args=[owner.pk]))

    owner.refresh_from_db()
    assert answer.status_code == 422
    assert "only owner" in answer.content.decode()
    assert owner.is_active


def test_a_new_password_signs_the_person_out_everywhere(as_owner, technician):
    other = type(as_owner)()
    other.force_login(technician)
    address = reverse("services:set_password", args=[technician.pk])
    as_owner.post(address, {"password": PASSWORD, "again": PASSWORD})

    technician.refresh_from_db()
    assert technician.check_password(PASSWORD)
    assert other.get("/day/").url.startswith("/accounts/login/")


def test_who_is_let_go_cannot_sign_in_and_stays_in_the_list(as_owner, technician):
    address = reverse("services:let_go", args=[technician.pk])

    assert "cannot sign in any more" in as_owner.get(address).content.decode()

    as_owner.post(address)
    as_owner.post(address)
    technician.refresh_from_db()
    assert not technician.is_active
    assert "let go" in as_owner.get("/people/").content.decode()


def test_the_crew_and_the_language_of_a_person_are_changed(as_owner, technician):
    typed = {"first_name": "Tom", "last_name": "Reyes", "language": "es", "crew": ""}
    as_owner.post(reverse("services:edit_person", args=[technician.pk]), typed)

    kept = Technician.objects.select_related("user").get(user=technician)
    assert (kept.crew, kept.language, kept.user.get_full_name()) == (None, "es", "Tom Reyes")


def test_half_a_shift_is_refused(as_owner, technician):
    typed = {"first_name": "Tom", "last_name": "R", "language": "en", "shift_starts": "07:00"}
    answer = as_owner.post(reverse("services:edit_person", args=[technician.pk]), typed)

    assert answer.status_code == 422
    assert "both ends of the shift" in answer.content.decode()


@pytest.mark.parametrize("name", ["new_person", "edit_person", "change_role", "set_password"])
@pytest.mark.parametrize("who", ["dispatcher", "technician", "inspector"])
def test_only_the_owner_decides_who_is_who(client, request, owner, name, who):
    client.force_login(request.getfixturevalue(who))
    address = reverse(f"services:{name}", args=[] if name == "new_person" else [owner.pk])

    assert client.get(address).status_code == 403
    assert client.post(address, {"role": "owner"}).status_code == 403


def test_people_are_for_the_staff(client, technician, inspector):
    assert client.get("/people/").url.startswith("/accounts/login/")
    for user in (technician, inspector):
        client.force_login(user)
        assert client.get("/people/").status_code == 403


def test_who_is_ticked_works_in_the_crew_and_leaves_the_other(as_owner, owner, crew, technician):
    one = Technician.objects.get_or_create(user=owner)[0]
    typed = {"name": "Crew two", "yard": crew.yard_id, "shift_starts": "07:00"}
    typed |= {"shift_ends": "16:00", "lunch_minutes": 30, "weekdays": [0, 1]}

    as_owner.post("/crews/new/", {**typed, "people": [one.pk, technician.technician.pk]})
    made = Crew.objects.get(name="Crew two")
    assert set(made.technicians.all()) == {one, technician.technician}
    assert technician.technician not in crew.technicians.all()

    as_owner.post(f"/crews/{made.pk}/edit/", {**typed, "people": [one.pk]})
    assert list(made.technicians.all()) == [one]


def test_a_yard_a_crew_and_a_truck_are_entered(client, dispatcher):
    client.force_login(dispatcher)
    yard = {
        "name": "North yard",
        "address": "2 Ferry Lane",
        "latitude": "40.2",
        "longitude": "-74.8",
        "time_zone": "America/New_York",
    }
    client.post("/yards/new/", yard)
    crew = {
        "name": "Crew nine",
        "yard": Yard.objects.get().pk,
        "shift_starts": "07:00",
        "shift_ends": "16:00",
        "lunch_minutes": "30",
        "weekdays": ["0", "1"],
    }
    client.post("/crews/new/", crew)
    truck = {"name": "Truck nine", "crew": Crew.objects.get().pk, "water_gallons": "100"}
    client.post("/trucks/new/", truck)

    assert Crew.objects.get().weekdays == ["0", "1"]
    assert Truck.objects.get().crew == Crew.objects.get()


def test_a_shift_ends_after_it_starts(client, dispatcher, crew):
    client.force_login(dispatcher)
    typed = {"name": "Crew one", "yard": crew.yard_id, "lunch_minutes": "30", "weekdays": ["0"]}
    address = reverse("services:edit_crew", args=[crew.pk])

    assert client.post(address, typed | SHIFT).status_code == 422
    crew.refresh_from_db()
    assert crew.shift_ends.hour == 17


SHIFT = {"shift_starts": "17:00", "shift_ends": "07:00"}


@pytest.mark.parametrize("name", ["edit_yard", "edit_crew", "edit_truck"])
def test_an_unknown_yard_crew_or_truck_is_not_found(as_owner, name):
    assert as_owner.get(reverse(f"services:{name}", args=[9999])).status_code == 404


def test_the_page_takes_as_many_queries_for_more_people_and_crews(
    queries_of, crew, technician, owner, yard
):
    first = queries_of("/people/")
    second = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts="07:00", shift_ends="17:00"
    )
    Truck.objects.create(name="Truck two", crew=second, water_gallons=Decimal(50))
    add_person(username="chela", role=Role.TECHNICIAN, by=owner, crew=second)

    assert queries_of("/people/") == first
