"""The pages of clients, properties, plantings, access and neighbours."""

import pytest

from clients.models import AccessWindow, Client, Neighbour, Planting, Property

CARD = {"name": "Garden Club", "language": "en"}
PLACE = {
    "name": "Town hall",
    "street": "3 Shelf Street",
    "city": "Nowhere",
    "postal_code": "00000",
    "jurisdiction": "US-PA",
    "latitude": "40.2",
    "longitude": "-74.8",
    "time_zone": "America/New_York",
}
BED = {
    "name": "Azaleas",
    "common_name": "azalea",
    "species": "Rhododendron hybrids",
    "plant_group": "ornamental shrub",
    "habit": "bed",
    "plants": "12",
    "length_ft": "20",
    "width_ft": "5",
    "height_ft": "3",
    "faces": "2",
    "irrigation": "none",
}


@pytest.fixture
def office(client, dispatcher):
    """The office, signed in."""
    client.force_login(dispatcher)
    return client


def test_a_stranger_is_asked_to_sign_in(client, library):
    assert client.get("/properties/").status_code == 302
    assert client.get(f"/clients/{library.client_id}/").status_code == 302


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_others_do_not_see_the_register(client, request, library, who):
    client.force_login(request.getfixturevalue(who))

    assert client.get("/properties/").status_code == 403


def test_an_empty_register_begins_with_a_client(office):
    assert "Take in the first client" in office.get("/properties/").content.decode()


def test_a_client_without_a_property_is_not_lost(office, db):
    made = Client.objects.create(name="Called in a hurry")

    page = office.get("/properties/").content.decode()

    assert f'href="/clients/{made.pk}/"' in page


def test_the_register_shows_what_must_be_minded(office, library, rose_bed):
    Property.objects.update(bees=True)

    page = office.get("/properties/").content.decode()

    assert "Library" in page
    assert "bee hives" in page


@pytest.mark.parametrize(
    ("words", "is_found"), [("library", True), ("reading", True), ("shelf", True), ("moon", False)]
)
def test_the_register_is_searched(office, library, words, is_found):
    page = office.get("/properties/", {"words": words}).content.decode()

    assert (f'href="/properties/{library.pk}/"' in page) == is_found


def test_many_properties_ask_as_often_as_one(office, library, count_queries):
    once = count_queries("/properties/")
    for number in range(3):
        office.post(f"/clients/{library.client_id}/properties/new/", {**PLACE, "name": str(number)})

    assert count_queries("/properties/") == once


def test_a_client_is_taken_in_and_a_property_asked_for(office):
    answer = office.post("/clients/new/", CARD)

    made = Client.objects.get()
    assert answer["Location"] == f"/clients/{made.pk}/properties/new/"


def test_a_card_that_is_sent_twice_is_one_client(office):
    office.post("/clients/new/", CARD)
    again = office.post("/clients/new/", {**CARD, "name": CARD["name"].upper()})

    assert again.status_code == 422
    assert "One of this name is in the book already." in again.content.decode()
    assert Client.objects.count() == 1


def test_two_clients_may_have_one_name(office):
    office.post("/clients/new/", CARD)
    office.post("/clients/new/", {**CARD, "is_another": "on"})

    assert [client.name for client in Client.objects.all()] == [CARD["name"]] * 2


def test_plantings_of_one_name_are_asked_about_on_one_property_only(office, library):
    other = Property.objects.create(
        client=library.client,
        name="Annex",
        street="2 Elm Street",
        jurisdiction="NJ",
        latitude="40.3",
        longitude="-74.6",
        time_zone="America/New_York",
    )
    for place in (library, library, other):
        office.post(f"/properties/{place.pk}/plantings/new/", BED)

    assert [each.property_id for each in Planting.objects.order_by("pk")] == [library.pk, other.pk]


def test_a_wrong_address_of_mail_is_shown_again_as_it_was_typed(office):
    answer = office.post("/clients/new/", {**CARD, "email": "club at example"})

    assert answer.status_code == 422
    assert 'value="club at example"' in answer.content.decode()


def test_a_property_and_its_planting_are_taken_in(office, reading_society):
    answer = office.post(f"/clients/{reading_society.pk}/properties/new/", PLACE)
    place = Property.objects.get()
    assert answer["Location"] == f"/properties/{place.pk}/plantings/new/"

    office.post(answer["Location"], BED)

    assert Planting.objects.get().property == place


def test_a_planting_that_cannot_be_is_refused_at_its_field(office, library):
    answer = office.post(f"/properties/{library.pk}/plantings/new/", {**BED, "bloom_start": "May"})

    assert answer.status_code == 422
    assert 'value="May"' in answer.content.decode()
    assert not Planting.objects.exists()


def test_a_planting_is_changed(office, rose_bed):
    office.post(f"/plantings/{rose_bed.pk}/edit/", {**BED, "read_version": "1"})

    rose_bed.refresh_from_db()
    assert (rose_bed.name, rose_bed.version) == ("Azaleas", 2)


def test_somebody_elses_change_is_shown_and_not_overwritten(office, reading_society):
    address = f"/clients/{reading_society.pk}/edit/"
    office.post(address, {**CARD, "phone": "555-0101", "read_version": "1"})

    answer = office.post(address, {**CARD, "phone": "555-0102", "read_version": "1"})

    page = answer.content.decode()
    assert answer.status_code == 412
    assert "telephone: 555-0101" in page
    assert 'value="555-0102"' in page
    assert Client.objects.get().phone == "555-0101"


def test_who_has_seen_the_other_version_may_write_over_it(office, reading_society):
    address = f"/clients/{reading_society.pk}/edit/"
    office.post(address, {**CARD, "phone": "555-0101", "read_version": "1"})

    office.post(address, {**CARD, "phone": "555-0102", "read_version": "2"})

    assert Client.objects.get().phone == "555-0102"


def test_hours_of_access_are_added_and_taken_away(office, library):
    address = f"/properties/{library.pk}/access/"
    hours = {"weekday": "0", "opens": "09:00", "closes": "12:00"}

    office.post(address, hours)
    window = AccessWindow.objects.get()
    assert "Monday, 9:00 am" in office.get(address).content.decode()
    office.post(f"/access/{window.pk}/remove/")

    assert not AccessWindow.objects.exists()


def test_hours_that_close_before_they_open_are_refused(office, library):
    answer = office.post(
        f"/properties/{library.pk}/access/", {"weekday": "0", "opens": "12:00", "closes": "09:00"}
    )

    assert answer.status_code == 422
    assert not AccessWindow.objects.exists()


def test_a_neighbour_is_added_and_taken_away(office, library):
    office.post(
        f"/properties/{library.pk}/neighbours/",
        {"name": "N. Extdoor", "ground": "asked", "phone": "555-0107"},
    )
    neighbour = Neighbour.objects.get()

    office.post(f"/neighbours/{neighbour.pk}/remove/")

    assert not Neighbour.objects.exists()


def test_nothing_is_taken_away_by_following_a_link(office, library):
    neighbour = Neighbour.objects.create(property=library, name="N. Extdoor", phone="555-0107")

    assert office.get(f"/neighbours/{neighbour.pk}/remove/").status_code == 405


@pytest.mark.parametrize(
    "address", ["/clients/99/", "/properties/99/edit/", "/plantings/99/edit/", "/access/99/remove/"]
)
def test_what_is_not_there_is_not_found(office, address):
    answer = office.post(address) if address.endswith("remove/") else office.get(address)

    assert answer.status_code == 404


def test_a_property_begins_where_the_letters_go(office):
    given = Client.objects.create(
        name="Ada Fenn", street="2 Elm Street", city="Yardley", region="PA", postal_code="19067"
    )

    begun = office.get(f"/clients/{given.pk}/properties/new/").context["form"]

    assert begun["street"].value() == "2 Elm Street"
    assert begun["jurisdiction"].value() == "US-PA"


def test_the_state_of_an_address_is_written_by_its_name_too(office):
    office.post("/clients/new/", {"name": "Ada Fenn", "language": "en", "region": "Pennsylvania"})

    assert Client.objects.get(name="Ada Fenn").region == "PA"


def test_a_state_that_is_none_stays_as_it_was_typed(office):
    answer = office.post(
        "/clients/new/", {"name": "Ada Fenn", "language": "en", "region": "Nowhere"}
    )

    assert answer.status_code == 422
    assert answer.context["form"]["region"].value() == "Nowhere"
