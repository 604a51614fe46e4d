"""Clients, properties and plantings through the API."""

import pytest

from clients.access import Reach
from clients.models import Client, Neighbour, Planting

BED = {
    "name": "Azaleas",
    "common_name": "azalea",
    "species": "Rhododendron hybrids",
    "plant_group": "ornamental shrub",
    "habit": "bed",
    "length_ft": "20",
    "width_ft": "5",
}


@pytest.mark.parametrize(
    "place", ["clients", "properties", "plantings", "access-windows", "neighbours"]
)
def test_a_stranger_gets_nothing(api, db, place):
    assert api.get(f"/api/v1/{place}/").status_code == 401


def test_a_client_comes_with_its_version(api, dispatcher, reading_society):
    api.force_authenticate(dispatcher)

    answer = api.get(f"/api/v1/clients/{reading_society.pk}/")

    assert (answer["ETag"], answer.data["name"]) == ('"v1"', "Reading Society")


def test_a_planting_is_made(api, dispatcher, library):
    api.force_authenticate(dispatcher)

    answer = api.post("/api/v1/plantings/", {**BED, "property": library.pk})

    assert answer.status_code == 201
    assert Planting.objects.get().plants == 1


def test_what_breaks_a_rule_is_a_problem_with_its_field(api, dispatcher, library):
    api.force_authenticate(dispatcher)

    answer = api.post("/api/v1/plantings/", {**BED, "property": library.pk, "bloom_start": "May"})

    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"
    assert "bloom_start" in answer.data["errors"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 428),
        ({"If-Match": "v1"}, 200),
        ({"If-Match": '"v1"'}, 200),
        ({"If-Match": '"v2"'}, 412),
        ({"If-Match": '"yesterday"'}, 412),
    ],
)
def test_a_change_names_the_version_that_was_read(
    api, dispatcher, reading_society, headers, status
):
    api.force_authenticate(dispatcher)

    answer = api.patch(
        f"/api/v1/clients/{reading_society.pk}/", {"phone": "555-0101"}, headers=headers
    )

    assert answer.status_code == status
    assert Client.objects.filter(phone="555-0101").exists() == (status == 200)


def test_a_stale_change_comes_back_with_what_stands_now(api, dispatcher, reading_society):
    api.force_authenticate(dispatcher)
    address = f"/api/v1/clients/{reading_society.pk}/"
    api.patch(address, {"phone": "555-0101"}, headers={"If-Match": '"v1"'})

    answer = api.patch(address, {"phone": "555-0102"}, headers={"If-Match": '"v1"'})

    assert "555-0101" in str(answer.data)


def test_a_client_is_not_removed(api, owner, reading_society):
    api.force_authenticate(owner)

    assert api.delete(f"/api/v1/clients/{reading_society.pk}/").status_code == 405


@pytest.mark.parametrize(("place", "status"), [("clients", 403), ("neighbours", 403)])
def test_a_technician_does_not_read_who_pays(api, technician, place, status):
    api.force_authenticate(technician)

    assert api.get(f"/api/v1/{place}/").status_code == status


@pytest.mark.parametrize(
    ("path", "name", "sent", "said"),
    [
        ("properties", "latitude", "900", "Latitude lies between -90 and 90 degrees."),
        ("yards", "longitude", "-1800", "Longitude lies between -180 and 180 degrees."),
        ("weather-stations", "latitude", "90.000001", "Latitude lies between -90 and 90 degrees."),
    ],
)
def test_what_is_beyond_the_earth_is_refused_in_the_words_of_the_page(
    api, owner, path, name, sent, said
):
    api.force_authenticate(owner)

    answer = api.post(f"/api/v1/{path}/", {name: sent})

    assert answer.status_code == 400
    assert answer.data["errors"][name] == [said]


def test_a_technician_reads_and_does_not_write_what_is_within_reach(
    api, technician, rose_bed, monkeypatch
):
    api.force_authenticate(technician)
    address = f"/api/v1/plantings/{rose_bed.pk}/"
    assert api.get(address).status_code == 404

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert api.get(address).status_code == 200
    assert api.patch(address, {"note": "seen"}, headers={"If-Match": '"v1"'}).status_code == 403


def test_a_neighbour_is_added_and_taken_away(api, dispatcher, library):
    api.force_authenticate(dispatcher)
    made = api.post(
        "/api/v1/neighbours/", {"property": library.pk, "name": "N. Extdoor", "phone": "555-0107"}
    )

    answer = api.delete(f"/api/v1/neighbours/{made.data['id']}/")

    assert (made.status_code, answer.status_code) == (201, 204)
    assert not Neighbour.objects.exists()


def test_an_access_window_is_added(api, dispatcher, library):
    api.force_authenticate(dispatcher)
    hours = {"property": library.pk, "weekday": 0, "opens": "09:00", "closes": "12:00"}

    right = api.post("/api/v1/access-windows/", hours)
    wrong = api.post("/api/v1/access-windows/", {**hours, "closes": "08:00"})

    assert (right.status_code, wrong.status_code) == (201, 400)


def test_many_plantings_ask_as_often_as_one(
    api, dispatcher, library, django_assert_max_num_queries
):
    api.force_authenticate(dispatcher)
    for number in range(4):
        api.post("/api/v1/plantings/", {**BED, "property": library.pk, "name": f"Bed {number}"})

    with django_assert_max_num_queries(3):  # role, count, plantings
        assert api.get("/api/v1/plantings/").data["count"] == 4
