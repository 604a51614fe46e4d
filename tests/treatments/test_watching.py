"""What a year's counts say of each mode of action, over all properties."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from clients.models import Planting
from treatments import watching
from treatments.models import ActiveIngredient, Product, ScoutingCount, WeatherStation
from treatments.recording import record_application
from treatments.storekeeping import receive_lot
from treatments.watching import watch_resistance

TODAY = date(2026, 7, 20)


@pytest.fixture(autouse=True)
def in_july():
    with time_machine.travel(datetime(2026, 7, 20, 16, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def warm(db):
    """A station near the library: 25 degrees Celsius on average since spring."""
    station = WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )
    for number in range(40):
        day = TODAY - timedelta(days=35 - number)
        station.days.create(day=day, minimum_f=67, maximum_f=87)


@pytest.fixture
def bifenazate(dispatcher):
    """A lot of a product of group 20D, which kills nearly all mites that it hits."""
    product = Product.objects.create(name="Slow Ember", epa_registration_number="0-199")
    ingredient, _ = ActiveIngredient.objects.update_or_create(
        name="bifenazate", defaults={"irac_group": "20D"}
    )
    product.contents.create(ingredient=ingredient, percent_by_weight=Decimal(22))
    return receive_lot(
        product=product,
        lot_number="E-1",
        amount=Decimal(64),
        received_on=date(2026, 3, 2),
        expires_on=date(2028, 3, 1),
        by=dispatcher,
    )


@pytest.fixture
def bed_elsewhere(rose_bed):
    """The same bed at another property."""
    place = rose_bed.property
    place.pk, place.name = None, "Town hall"
    place.save(force_insert=True)
    rose_bed.pk, rose_bed.property = None, place
    rose_bed.save(force_insert=True)
    return rose_bed


@pytest.fixture
def beds(rose_bed, bed_elsewhere):
    return list(Planting.objects.order_by("pk"))


@pytest.fixture
def sprayed(stated, bifenazate, spider_mite):
    """Spray a bed on 6 July, with counts of mites before and after."""

    def sprayed(bed, before, after):
        told = stated | {"planting": bed, "product": bifenazate.product, "lot": bifenazate}
        record_application(**told)
        for day, adults in [(5, before), (10, after)]:
            ScoutingCount.objects.create(
                planting=bed,
                pest=spider_mite,
                scouted_at=datetime(2026, 7, day, 14, tzinfo=UTC),
                leaves_looked_at=20,
                leaves_infested=20,
                adults=adults,
            )

    return sprayed


def seen():
    return watch_resistance(Planting.objects.all(), TODAY)[0]


def test_a_group_that_works_is_told_without_a_poor_visit(warm, beds, sprayed):
    sprayed(beds[0], 200, 20)

    (row,) = seen()

    assert (row.group, row.visits, row.poor) == ("20", 1, [])
    assert not row.is_suspected


def test_one_property_alone_may_have_been_sprayed_badly(warm, beds, sprayed):
    sprayed(beds[0], 200, 190)
    sprayed(beds[1], 200, 20)

    (row,) = seen()

    assert (row.visits, row.properties) == (2, [beds[0].property])
    assert row.last_poor == date(2026, 7, 6)
    assert not row.is_suspected


def test_a_group_that_fails_on_two_properties_is_suspected(warm, beds, sprayed):
    for bed in beds:
        sprayed(bed, 200, 190)

    (row,) = seen()

    assert row.is_suspected
    assert set(row.properties) == {bed.property for bed in beds}


def test_without_weather_nobody_tells_what_the_mites_would_have_done(beds, sprayed):
    sprayed(beds[0], 200, 190)

    assert seen() == []


def test_what_is_older_than_a_year_is_not_told(warm, beds, sprayed):
    sprayed(beds[0], 200, 190)

    assert watch_resistance(Planting.objects.all(), date(2027, 7, 20))[0] == []


def test_the_page_names_pest_group_and_place(client, dispatcher, warm, beds, sprayed):
    for bed in beds:
        sprayed(bed, 200, 190)
    client.force_login(dispatcher)

    page = client.get(reverse("treatments:resistance")).content.decode()

    assert "Town hall" in page
    assert ">20</td>" in page


def test_more_than_the_page_can_look_at_is_said(
    client, dispatcher, warm, beds, sprayed, monkeypatch
):
    monkeypatch.setattr(watching, "MOST_PLANTINGS", 1)
    for bed in beds:
        sprayed(bed, 200, 190)

    rows, is_cut = watch_resistance(Planting.objects.all(), TODAY)

    assert is_cut
    assert rows[0].visits == 1
