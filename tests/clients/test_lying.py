"""A place may be written as people write it; what cannot be meant is said plainly."""

from decimal import Decimal

import pytest
from django.urls import reverse

from clients.forms import PropertyForm
from clients.lying import as_typed, degrees_of, jurisdiction_of

TYPED = {
    "name": "House",
    "street": "1 Mill Lane",
    "city": "Reading",
    "postal_code": "19601",
    "jurisdiction": "Pennsylvania",
    "latitude": "40.335600000001",
    "longitude": "-75.9269",
    "time_zone": "America/New_York",
}


@pytest.mark.parametrize("text", ["US-PA", "us-pa", "PA", " pa", "Pennsylvania", "PENNSYLVANIA"])
def test_a_state_is_known_by_name_and_code(text):
    assert jurisdiction_of(text) == "US-PA"  # ISO 3166-2, from memory


@pytest.mark.parametrize("text", ["CA-ON", "Ontario", "", "US-XX-1"])
def test_another_place_stays_as_it_is_written(text):
    assert jurisdiction_of(text) == text.upper()


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("40.3356", "40.335600"),
        ("40.33560049999", "40.335600"),
        ("75.9269° W", "-75.926900"),
        ("-75.9269 W", "-75.926900"),
        ("33.9 S", "-33.900000"),
    ],
)
def test_degrees_are_read_as_a_map_writes_them(text, degrees):
    assert str(degrees_of(text)) == degrees


@pytest.mark.parametrize("text", ["", "north", "1e5", "40 20 08", "9" * 40])
def test_what_are_no_degrees_is_left_to_the_form(text):
    assert degrees_of(text) is None


def test_both_coordinates_in_one_field_are_told_apart():
    typed = as_typed({"latitude": "40.3356, -75.9269", "longitude": " "})

    assert typed == {"latitude": "40.335600", "longitude": "-75.926900"}


def test_a_property_is_read_as_it_was_written(db):
    form = PropertyForm(TYPED)

    assert form.is_valid(), form.errors
    assert form.cleaned_data["jurisdiction"] == "US-PA"
    assert form.cleaned_data["latitude"] == Decimal("40.335600")


def test_a_forgotten_minus_is_said(db):
    form = PropertyForm(TYPED | {"longitude": "75.9269"})

    assert not form.is_valid()
    assert "put a minus before it" in str(form.errors["longitude"])


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("latitude", "900", "Latitude lies between -90 and 90 degrees."),
        ("latitude", "90.000001", "Latitude lies between -90 and 90 degrees."),
        ("longitude", "-1800", "Longitude lies between -180 and 180 degrees."),
    ],
)
def test_what_is_beyond_the_earth_is_said_so_and_nothing_of_digits(db, name, typed, said):
    form = PropertyForm(TYPED | {name: typed})

    assert form.errors[name] == [said]


@pytest.mark.parametrize("typed", ["90", "-90"])
def test_the_poles_lie_on_the_earth(db, typed):
    assert "latitude" not in PropertyForm(TYPED | {"latitude": typed}).errors


def test_what_is_no_state_is_said_with_an_example(client, owner, library):
    client.force_login(owner)
    address = reverse("clients:new_property", args=[library.client_id])

    answer = client.post(address, TYPED | {"jurisdiction": "the valley"})

    assert b"Write the state by its name or code, as US-PA." in answer.content
    assert b"the valley" in answer.content.lower()
