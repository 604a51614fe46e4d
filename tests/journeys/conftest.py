"""A business of two clients on the first Monday of July, with two products in its store."""

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
import time_machine
from django.conf import settings
from django.db import connection

from clients.models import Client, Planting, Property
from services.models import Crew, Technician
from tests.book import put_in_store
from treatments.models import (
    ActiveIngredient,
    Applicator,
    Certificate,
    LabelRate,
    Lot,
    Pest,
    Product,
)

MONDAYS = [datetime(2026, 7, day, 12, tzinfo=UTC) for day in (6, 13, 20)]  # 8:00 at the yard


@dataclass
class Season:
    """What a season begins with."""

    beds: list[Planting]
    soap: Product
    mist: Product
    lots: dict[Product, Lot]
    pest: Pest
    crew: Crew
    applicator: Applicator


@pytest.fixture
def clock():
    """Stop the clock on the first Monday; a journey moves it on."""
    with time_machine.travel(MONDAYS[0], tick=False) as clock:
        yield clock


@pytest.fixture(autouse=True)
def licence_of_the_owner(owner):
    """The owner holds a certificate: only so may an owner compose what courses go by."""
    holder = Applicator.objects.create(user=owner, name="O. Wner")
    return Certificate.objects.create(
        applicator=holder,
        number="PA-0008",
        jurisdiction="US-PA",
        categories=["ornamental and turf"],
        issued_on=date(2025, 1, 1),
        expires_on=date(2027, 12, 31),
    )


@pytest.fixture
def broker(broker_alone):
    """Skip without a broker, but fail where all checks are to run."""
    if settings.BROKER_URL:
        return
    if os.environ.get("DUSKBOOK_CI") == "1":
        pytest.fail("BROKER_URL is not set, and no test is left out here.")
    pytest.skip("BROKER_URL is not set; with amqp://... a worker is started.")


@pytest.fixture
def data(tmp_path):
    """Give workers a data folder in which they find the test's database."""
    if connection.vendor == "sqlite":
        (tmp_path / "duskbook.sqlite3").symlink_to(connection.settings_dict["NAME"])
    return tmp_path


@pytest.fixture
def town_hall(db):
    """A second client's roses, a few miles up the road."""
    client = Client.objects.create(name="Town", email="clerk@example.org", phone="555-0104")
    place = Property.objects.create(
        client=client,
        name="Town hall",
        street="1 Market Square",
        city="Nowhere",
        county="Bucks",
        postal_code="00000",
        jurisdiction="US-PA",
        latitude=Decimal("40.27"),
        longitude=Decimal("-74.83"),
    )
    return Planting.objects.create(
        property=place,
        name="Roses at the steps",
        common_name="hybrid rose",
        species="Rosa hybrids",
        plant_group="rose",
        habit="bed",
        plants=20,
        length_ft=Decimal(40),
        width_ft=Decimal(10),
        height_ft=Decimal(3),
    )


@pytest.fixture
def mist(db):
    """A miticide of IRAC group 6, which is not to follow itself without a reason."""
    product = Product.objects.create(
        name="Slow Mist",
        epa_registration_number="0-103",
        formulation_code="EC",
        signal_word="CAUTION",
        wind_maximum_mph=Decimal(10),
        reentry_hours=Decimal(12),
        minimum_interval_days=7,
    )
    abamectin, _ = ActiveIngredient.objects.get_or_create(
        name="abamectin", defaults={"irac_group": "6", "stages_controlled": ["nymph", "adult"]}
    )
    product.contents.create(ingredient=abamectin, percent_by_weight=Decimal(2))
    LabelRate.objects.create(
        product=product,
        plant_group="rose",
        minimum=Decimal(1),
        maximum=Decimal(4),
        basis="fl oz/gal",
        gallons_per_1000_sq_ft=Decimal(5),
    )
    return product


@pytest.fixture
def season(
    clock,
    business,
    rose_bed,
    town_hall,
    soap,
    mist,
    soap_lot,
    spider_mite,
    crew,
    sprayer,
    calibration,
    applicator,
    technician,
    dispatcher,
):
    """The business, ready for its season."""
    rose_bed.property.client.email = "reader@example.org"
    rose_bed.property.client.save()
    crew.truck.sprayers.add(sprayer)
    Technician.objects.create(user=applicator.user, crew=crew)
    return Season(
        beds=[rose_bed, town_hall],
        soap=soap,
        mist=mist,
        lots={soap: soap_lot, mist: put_in_store(mist, "M-1", dispatcher)},
        pest=spider_mite,
        crew=crew,
        applicator=applicator,
    )
