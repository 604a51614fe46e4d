"""One small invented business to test with: a library with a rose bed, one soap, one crew.

The registration numbers cannot exist: numbers are given out from one upward.
"""

import fcntl
import gc
from datetime import UTC, date, datetime, time
from decimal import Decimal
from itertools import chain

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.core.cache import cache
from django.db import connection
from django.db.models.signals import post_migrate
from django.test.utils import CaptureQueriesContext
from django.utils import translation
from rest_framework.test import APIClient

from clients.access import Role
from clients.models import Client, Planting, Property
from services.models import Crew, Technician, Truck, Yard
from tests.memory import grows_little as memory_grows_little
from treatments.chosen import forget
from treatments.models import (
    ActiveIngredient,
    Applicator,
    Business,
    Calibration,
    Certificate,
    InspectorGrant,
    LabelRate,
    Lot,
    Pest,
    Product,
    Rotation,
    Sprayer,
    StockEntry,
)

pytest_plugins = [
    "tests.untimed",
    "tests.migrated_once",
    "tests.book",
    "tests.kept_book",
]
# A program that stands alone finds its neighbour beside it, not in a package.
# What a benchmark starts in a process of its own is no test, and changes the process it is in.
collect_ignore = [
    "reference/standalone_package.py",
    "benchmarks/jobs_app.py",
    "benchmarks/soak/hands.py",
    "benchmarks/soak/people.py",
]

PURE = {"rules", "sheets", "reference"}
GIVE_A_DATABASE = {"db", "transactional_db", "live_server"}


def pytest_collection_modifyitems(config, items):
    """Mark what knows no database: it is as true beside one as beside another.

    Where processes share the tests, what takes long comes first, so that none waits for another at
    the end, and what is pure comes last: one process begins there while another still migrates.
    """
    for item in items:
        if PURE & set(item.path.parts) or not asks_servers(item):
            item.add_marker("pure")
    if hasattr(config, "workerinput"):
        items.sort(key=turn)


def turn(item):
    """Return which of three turns is a test's."""
    if item.get_closest_marker("slow"):
        return 0
    return 2 if item.get_closest_marker("pure") else 1


def asks_servers(item):
    """Say whether a test may ask database or broker; whatever else asks the database is stopped."""
    return (
        any(item.get_closest_marker(name) for name in ("django_db", "servers", "needs_broker"))
        or not GIVE_A_DATABASE.isdisjoint(item.fixturenames)
        or any(
            opens_the_database(each) for each in chain(*item._fixtureinfo.name2fixturedefs.values())
        )
    )


def opens_the_database(fixture):
    """Say whether a fixture of a file of tests takes the bar before the database away."""
    return fixture.baseid.startswith("tests/") and "django_db_blocker" in fixture.argnames


def pytest_collection_finish():
    """Look for circles of forgotten objects seldom, and not among the tests themselves."""
    gc.freeze()
    gc.set_threshold(20_000)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """Put the roles that migrations made back whenever a transactional test emptied the tables.

    So that it does not matter which test comes after which.
    """
    with django_db_blocker.unblock():
        roles = list(Group.objects.order_by("pk"))

    def put_back(using, **signal):
        Group.objects.using(using).bulk_create(roles, ignore_conflicts=True)

    post_migrate.connect(put_back, sender=apps.get_app_config("auth"))
    yield
    post_migrate.disconnect(put_back, sender=apps.get_app_config("auth"))


@pytest.fixture(autouse=True)
def passwords_hash_fast(settings):
    """Hash passwords cheaply: in tests they guard nothing."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def files_as_they_are(settings):
    """Name static files as they are called, so that pages need no gathered ones."""
    plain = "django.contrib.staticfiles.storage.StaticFilesStorage"
    settings.STORAGES = {**settings.STORAGES, "staticfiles": {"BACKEND": plain}}


@pytest.fixture(autouse=True)
def counts_are_kept_in_memory(settings):
    """Count requests in memory, anew for each test: a page asks either database as often."""
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
    cache.clear()
    forget()


@pytest.fixture(autouse=True)
def language_is_the_first():
    """Begin in the language of the settings, whatever language the last page of a test was in."""
    translation.deactivate()


@pytest.fixture
def broker_alone(tmp_path_factory):
    """Have the broker alone: processes that test beside one another share its queues."""
    lock = tmp_path_factory.getbasetemp().parent / "broker.lock"
    with lock.open("w", encoding="utf-8") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


@pytest.fixture
def grows_little():
    """Want that a test of something absurd costs little memory at any moment."""
    with memory_grows_little():
        yield


@pytest.fixture(autouse=True)
def guards_let_the_flush_pass(request):
    """Take the triggers off after a transactional test, whose end empties every table.

    Emptying sends post_migrate, which puts them back for the next test.
    """
    marker = request.node.get_closest_marker("django_db")
    transactional = bool(marker and marker.kwargs.get("transaction")) or (
        {"transactional_db", "live_server"} & set(request.fixturenames)
    )
    if transactional:
        request.getfixturevalue("transactional_db")
    yield
    if transactional:
        drop_guards()


@pytest.fixture(autouse=True)
def book_comes_first(
    request,
    passwords_hash_fast,
    files_as_they_are,
    counts_are_kept_in_memory,
    guards_let_the_flush_pass,
):
    """Make or put back the book before everything else of a test that asks for it."""
    from tests.kept_book import make_or_put_back  # a plugin, which pytest imports itself

    make_or_put_back(request)


@pytest.fixture(scope="session", autouse=True)
def what_is_empty_is_not_emptied():
    """Have PostgreSQL delete the few rows of a test: to truncate every table takes it seconds.

    And it waits for whoever reads.  Of every connection, as beside a browser there is another one.
    """
    with pytest.MonkeyPatch.context() as patch:
        if connection.vendor == "postgresql":
            patch.setattr(type(connection.ops), "sql_flush", emptying)
        yield


def emptying(operations, style, tables, **asked):
    """Return the SQL that empties those tables that have rows; their keys are looked at last."""
    named = {table: connection.ops.quote_name(table) for table in tables}
    looks = (f"SELECT '{table}' WHERE EXISTS (TABLE {name})" for table, name in named.items())
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(looks))
        return [f"DELETE FROM {named[table]}" for (table,) in cursor.fetchall()]  # noqa: S608


def drop_guards():
    from treatments.guarding import guards_in_place

    with connection.cursor() as cursor:
        for name in guards_in_place():
            table = name.rsplit("_no_", 1)[0]
            on_table = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER {name}{on_table}")


def person(name, role):
    user = get_user_model().objects.create_user(name, password="one long password to test with")
    user.groups.add(Group.objects.get_or_create(name=role)[0])
    return user


@pytest.fixture
def api():
    """A program that speaks to the API; `api.force_authenticate(user)` says for whom."""
    return APIClient()


@pytest.fixture
def count_queries(client):
    """Count the queries of a page, to see that more rows do not make more of them."""

    def count(address, **query):
        with CaptureQueriesContext(connection) as seen:
            assert client.get(address, query).status_code == 200
        return len(seen)

    return count


@pytest.fixture
def owner(db):
    """The owner of the business."""
    return person("owner", Role.OWNER)


@pytest.fixture
def dispatcher(db):
    """Who sits in the office."""
    return person("dispatcher", Role.OFFICE)


@pytest.fixture
def technician(crew):
    """A crew member without a certificate, as the sign-in."""
    user = person("technician", Role.TECHNICIAN)
    Technician.objects.create(user=user, crew=crew)
    return user


@pytest.fixture
def inspector(db):
    """Who reads the records for the state."""
    return person("inspector", Role.INSPECTOR)


@pytest.fixture
def grant(inspector, owner):
    """The inspector may look at the records of Pennsylvania, whenever it is."""
    return InspectorGrant.objects.create(
        inspector=inspector,
        purpose="Department of Nowhere",
        jurisdictions=["US-PA"],
        starts_at=datetime(2020, 1, 1, tzinfo=UTC),
        ends_at=datetime(2060, 1, 1, tzinfo=UTC),
        granted_by=owner,
    )


@pytest.fixture
def business(db):
    """The business itself."""
    return Business.objects.create(
        name="Willow Ferry Gardens (invented)",
        licence_number="BU-0000",
        street="1 Ferry Lane",
        city="Nowhere",
        region="PA",
        postal_code="00000",
        invented=True,
    )


@pytest.fixture
def reading_society(db):
    """The client."""
    return Client.objects.create(
        name="Reading Society",
        street="2 Shelf Street",
        city="Nowhere",
        region="PA",
        postal_code="00000",
        phone="555-0100",
    )


@pytest.fixture
def library(reading_society):
    """The client's property, in Pennsylvania, without anything that must be minded."""
    return Property.objects.create(
        client=reading_society,
        name="Library",
        street="2 Shelf Street",
        city="Nowhere",
        county="Bucks",
        postal_code="00000",
        jurisdiction="US-PA",
        latitude=Decimal("40.25"),
        longitude=Decimal("-74.85"),
    )


@pytest.fixture
def rose_bed(library):
    """A bed of roses of 600 square feet, in bloom from 20 May to 15 June."""
    return Planting.objects.create(
        property=library,
        name="Rose bed",
        common_name="hybrid rose",
        species="Rosa hybrids",
        plant_group="rose",
        habit="bed",
        plants=40,
        length_ft=Decimal(60),
        width_ft=Decimal(10),
        height_ft=Decimal(3),
        bloom_start="05-20",
        bloom_end="06-15",
    )


@pytest.fixture
def spider_mite(db):
    """The pest."""
    return Pest.objects.create(
        common_name="two-spotted spider mite",
        spanish_name="araña roja de dos puntos",
        scientific_name="Tetranychus urticae",
        eppo_code="TETRUR",
        stages=["egg", "nymph", "adult"],
        threshold=Decimal(5),
        is_mite=True,
    )


@pytest.fixture
def soap(db):
    """An insecticidal soap with a label for roses, 2.5 to 5 fl oz in a gallon."""
    product = Product.objects.create(
        name="Quiet Soap",
        epa_registration_number="0-101",
        formulation_code="SL",
        signal_word="WARNING",
        organic_listed=True,
        reentry_hours=Decimal(12),
        reentry_until_dry=True,
        minimum_interval_days=7,
        label_version="2025-01",
    )
    salts, _ = ActiveIngredient.objects.get_or_create(
        name="potassium salts of fatty acids",
        defaults={"separation_class": "soap", "stages_controlled": ["nymph", "adult"]},
    )
    product.contents.create(ingredient=salts, percent_by_weight=Decimal(49))
    LabelRate.objects.create(
        product=product,
        plant_group="rose",
        minimum=Decimal("2.5"),
        maximum=Decimal(5),
        basis="fl oz/gal",
        gallons_per_1000_sq_ft=Decimal(5),
    )
    return product


@pytest.fixture
def oil(db):
    """A horticultural oil with a label for roses, whose label names no interval."""
    oil = Product.objects.create(
        name="Still Oil", epa_registration_number="0-102", formulation_code="EC"
    )
    mineral_oil, _ = ActiveIngredient.objects.get_or_create(
        name="mineral oil", defaults={"separation_class": "oil", "stages_controlled": ["egg"]}
    )
    oil.contents.create(ingredient=mineral_oil, percent_by_weight=Decimal(98))
    LabelRate.objects.create(
        product=oil,
        plant_group="rose",
        minimum=Decimal(1),
        maximum=Decimal("2.5"),
        basis="fl oz/gal",
        gallons_per_1000_sq_ft=Decimal(5),
    )
    return oil


@pytest.fixture
def three_weeks(soap, oil, spider_mite, owner):
    """Soap, oil and soap again, a week apart."""
    rotation = Rotation.objects.create(
        name="Mites on roses", pest=spider_mite, plant_group="rose", composed_by=owner
    )
    for week, product in enumerate([soap, oil, soap], start=1):
        rotation.weeks.create(
            week=week, product=product, rate=Decimal("2.5"), basis="fl oz/gal", purpose="knock down"
        )
    return rotation


@pytest.fixture
def soap_lot(soap, dispatcher):
    """A lot of the soap with 128 fluid ounces in it."""
    lot = Lot.objects.create(
        product=soap, lot_number="S-1", received_on=date(2026, 3, 2), expires_on=date(2028, 3, 1)
    )
    StockEntry.objects.create(
        lot=lot,
        kind=StockEntry.Kind.RECEIVED,
        amount=Decimal(128),
        happened_at=datetime(2026, 3, 2, 15, tzinfo=UTC),
        entered_by=dispatcher,
    )
    return lot


@pytest.fixture
def applicator(db):
    """A certified applicator, with a certificate of Pennsylvania until the end of 2027."""
    return certified("applicator", "A. Holder", "PA-0007")


def certified(username, name, number):
    """Return somebody who may apply in Pennsylvania until the end of 2027."""
    holder = Applicator.objects.create(user=person(username, Role.APPLICATOR), name=name)
    Certificate.objects.create(
        applicator=holder,
        number=number,
        jurisdiction="US-PA",
        categories=["ornamental and turf"],
        issued_on=date(2025, 1, 1),
        expires_on=date(2027, 12, 31),
    )
    return holder


@pytest.fixture
def learner(applicator):
    """An uncertified person who applies under the certified one."""
    return Applicator.objects.create(
        name="L. Earner", supervisor=applicator, trained_on=date(2026, 2, 1), trainer="A. Holder"
    )


@pytest.fixture
def sprayer(db):
    """A backpack sprayer with a tank of 4 gallons."""
    return Sprayer.objects.create(
        name="Backpack 1", kind="backpack", tank_gallons=Decimal(4), reach_ft=8
    )


@pytest.fixture
def calibration(sprayer, applicator):
    """What the backpack puts out in the applicator's hands: 5 gallons on 1,000 square feet."""
    return Calibration.objects.create(
        sprayer=sprayer,
        person=applicator,
        nozzle="hollow cone",
        method="timed 1,000 sq ft",
        gallons_per_1000_sq_ft=Decimal(5),
        calibrated_on=date(2026, 3, 1),
        expires_on=date(2027, 3, 1),
    )


@pytest.fixture
def yard(db):
    """The yard of the business."""
    return Yard.objects.create(
        name="Ferry yard",
        address="1 Ferry Lane, Nowhere, PA 00000",
        latitude=Decimal("40.22"),
        longitude=Decimal("-74.80"),
    )


@pytest.fixture
def crew(yard):
    """The one crew, with its truck."""
    people = Crew.objects.create(
        yard=yard, name="Crew one", shift_starts=time(7), shift_ends=time(17)
    )
    Truck.objects.create(name="Truck one", crew=people, water_gallons=Decimal(50))
    return people


@pytest.fixture
def stated(business, rose_bed, soap, spider_mite, soap_lot, applicator, dispatcher):
    """What `record_application` is told of 9 fl oz of soap on the roses, on a mild evening."""
    return {
        "planting": rose_bed,
        "product": soap,
        "pest": spider_mite,
        "lot": soap_lot,
        "applicator": applicator,
        "rate": Decimal(3),
        "rate_basis": "fl oz/gal",
        "product_amount": Decimal(9),
        "mix_gallons": Decimal(3),
        "started_at": datetime(2026, 7, 6, 22, 0, tzinfo=UTC),
        "done_at": datetime(2026, 7, 6, 22, 40, tzinfo=UTC),
        "captured_at": datetime(2026, 7, 6, 22, 45, tzinfo=UTC),
        "recorded_by": dispatcher,
    }
