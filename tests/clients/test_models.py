"""What clients, properties and plantings may say, and who sees them."""

from datetime import date, time
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db.models import ProtectedError

from clients.access import Reach
from clients.models import AccessWindow, Client, Neighbour, Planting, Property


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"time_zone": "Eastern"}, "time_zone"),
        ({"jurisdiction": "PA"}, "jurisdiction"),
        ({"jurisdiction": "us-pa"}, "jurisdiction"),
        ({"latitude": Decimal("90.1")}, "latitude"),
        ({"longitude": Decimal("-180.1")}, "longitude"),
    ],
)
def test_a_property_lies_somewhere_on_earth(library, changes, field):
    for name, value in changes.items():
        setattr(library, name, value)

    with pytest.raises(ValidationError) as refused:
        library.full_clean()

    assert field in refused.value.error_dict


@pytest.mark.parametrize("jurisdiction", ["US-PA", "US-NJ", "CA-ON", "FR-75C"])
def test_a_jurisdiction_is_a_code_of_the_standard(library, jurisdiction):
    # ISO 3166-2: two letters of the country, then up to three signs of the part
    library.jurisdiction = jurisdiction

    library.full_clean()


def test_a_name_stands_once_a_client(library):
    again = Property(
        client=library.client,
        name="Library",
        street="2 Shelf Street",
        city="Nowhere",
        postal_code="00000",
        jurisdiction="US-PA",
        latitude=Decimal(40),
        longitude=Decimal(-74),
    )

    with pytest.raises(ValidationError):
        again.full_clean()


def test_what_must_be_minded_is_said_in_words(library):
    library.bees = library.children = True

    assert library.minded() == ["bee hives", "children"]


def test_a_client_with_a_property_is_not_removed(library):
    with pytest.raises(ProtectedError):
        library.client.delete()


@pytest.mark.parametrize(
    "changes",
    [
        {"length_ft": Decimal(0)},
        {"faces": 3},
        {"bloom_end": ""},
        {"bloom_start": "13-01"},
        {"harvest_on": date(2026, 8, 1)},  # it is not edible
        {"eppo_code": "rosa"},
    ],
)
def test_a_planting_is_refused_when_it_cannot_be(rose_bed, changes):
    for name, value in changes.items():
        setattr(rose_bed, name, value)

    with pytest.raises(ValidationError):
        rose_bed.full_clean()


@pytest.mark.parametrize(
    ("day", "blooms"),
    [
        (date(2026, 5, 19), False),
        (date(2026, 5, 20), True),
        (date(2026, 6, 15), True),
        (date(2026, 6, 16), False),
    ],
)
def test_bloom_runs_from_its_first_day_through_its_last(rose_bed, day, blooms):
    assert rose_bed.blooms_on(day) is blooms


@pytest.mark.parametrize(
    ("day", "blooms"),
    [
        (date(2026, 12, 31), True),
        (date(2027, 1, 1), True),
        (date(2027, 2, 28), True),
        (date(2027, 3, 1), False),
    ],
)
def test_bloom_may_run_over_new_year(rose_bed, day, blooms):
    rose_bed.bloom_start, rose_bed.bloom_end = "12-01", "02-28"

    assert rose_bed.blooms_on(day) is blooms


def test_a_planting_without_a_bloom_never_blooms():
    assert not Planting().blooms_on(date(2026, 5, 20))


def test_an_access_window_closes_after_it_opens(library):
    window = AccessWindow(property=library, weekday=0, opens=time(9), closes=time(9))

    with pytest.raises(ValidationError, match="closes after it opens"):
        window.full_clean()


def test_a_neighbour_can_be_reached(library):
    with pytest.raises(ValidationError, match="telephone number"):
        Neighbour(property=library, name="N. Extdoor").full_clean()


@pytest.mark.parametrize("model", [Client, Property, Planting])
def test_the_office_sees_all_and_an_inspector_nothing(model, rose_bed, dispatcher, inspector):
    assert model.objects.for_user(dispatcher).count() == 1
    assert model.objects.for_user(inspector).count() == 0


@pytest.mark.parametrize("model", [Client, Property, Planting])
def test_a_technician_sees_what_is_within_reach(model, rose_bed, technician, monkeypatch):
    assert model.objects.for_user(technician).count() == 0

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert model.objects.for_user(technician).count() == 1


def test_a_letter_has_one_line_a_part(reading_society):
    lines = reading_society.postal_address().splitlines()

    assert lines == ["Reading Society", "2 Shelf Street", "Nowhere, PA 00000"]
