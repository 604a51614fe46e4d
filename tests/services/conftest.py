"""The schedule of the small business: a rotation of three weeks on its roses."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clients.models import Client, Property
from services.models import Course, Crew, Dispatch, Technician, Truck, Visit
from treatments.models import Lot, StockEntry

FIRST_DAY = date(2026, 7, 6)  # a Monday


@pytest.fixture
def rotation(three_weeks):
    """The rotation that the courses here go by."""
    return three_weeks


@pytest.fixture
def crew(crew, applicator, sprayer):
    """The crew, with its certified applicator and a backpack sprayer on the truck."""
    crew.truck.sprayers.add(sprayer)
    Technician.objects.create(user=applicator.user, crew=crew)
    return crew


@pytest.fixture
def course(rotation, rose_bed, business, reading_society, owner):
    """The rotation on the rose bed from Monday, 6 July 2026."""
    reading_society.email = "reader@example.org"
    reading_society.save()
    course = Course.objects.create(
        property=rose_bed.property, rotation=rotation, first_day=FIRST_DAY, started_by=owner
    )
    course.plantings.add(rose_bed)
    for number, week in enumerate(rotation.weeks.all()):
        planned = FIRST_DAY + timedelta(weeks=number)
        Visit.objects.create(
            course=course,
            rotation_week=week,
            earliest=planned if week.week == 1 else planned - timedelta(days=2),
            planned=planned,
            latest=planned + timedelta(days=2 if week.week > 1 else 4),
        )
    return course


@pytest.fixture
def visits(course):
    """The three visits of the course."""
    return list(
        course.visits.with_all_that_is_shown()
        .prefetch_related("course__property__neighbours")
        .order_by("rotation_week__week")
    )


@pytest.fixture
def done_visit(visits):
    """The first visit, made on its planned day."""
    Visit.objects.filter(pk=visits[0].pk).update(
        state=Visit.State.COMPLETED, completed_at=datetime(2026, 7, 6, 22, 40, tzinfo=UTC)
    )
    visits[0].refresh_from_db()
    return visits[0]


@pytest.fixture
def dispatched(visits, crew):
    """The second visit, the only one of the crew's route on its planned day."""
    at = datetime(2026, 7, 13, 13, tzinfo=UTC)
    route = Dispatch.objects.create(
        crew=crew,
        day=visits[1].planned,
        made_at=at,
        leaves_yard_at=at,
        returns_at=at + timedelta(hours=2),
    )
    Visit.objects.filter(pk=visits[1].pk).update(dispatch=route, position=1, arrives_at=at)
    visits[1].refresh_from_db()
    return visits[1]


@pytest.fixture
def oil_lot(oil, dispatcher):
    """A lot of the oil with 256 fluid ounces in it."""
    lot = Lot.objects.create(product=oil, lot_number="O-1", received_on=date(2026, 3, 2))
    StockEntry.objects.create(
        lot=lot,
        kind=StockEntry.Kind.RECEIVED,
        amount=Decimal(256),
        happened_at=datetime(2026, 3, 2, 15, tzinfo=UTC),
        entered_by=dispatcher,
    )
    return lot


@pytest.fixture
def on_monday():
    """Stop the clock on Monday, 6 July 2026, at ten in the morning in the yard."""
    with time_machine.travel(datetime(2026, 7, 6, 14, tzinfo=UTC), tick=False):
        yield FIRST_DAY


@pytest.fixture
def second_course(course):
    """The same rotation on the rose bed of another client, from the same day."""
    town = Client.objects.create(name="Town of Nowhere", wants_notice=False)
    hall = Property.objects.get(pk=course.property_id)
    hall.pk, hall.name, hall.client = None, "Town hall", town
    hall.save(force_insert=True)
    bed = course.plantings.get()
    bed.pk, bed.property = None, hall
    bed.save(force_insert=True)
    twin = Course.objects.create(
        property=hall, rotation=course.rotation, first_day=FIRST_DAY, started_by=course.started_by
    )
    twin.plantings.add(bed)
    for visit in course.visits.all():
        visit.pk, visit.course = None, twin
        visit.save(force_insert=True)
    return twin


@pytest.fixture
def queries_of(client, owner):
    """Return how many queries the owner's look at a page takes, once signed in."""

    def count(address):
        client.force_login(owner)
        client.get(address)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(address).status_code == 200
        return len(seen)

    return count


@pytest.fixture
def stock(soap_lot, oil_lot, calibration):
    """Both products in the store, and a calibrated sprayer."""
    return soap_lot


@pytest.fixture
def town_hall(library, course, rose_bed):
    """A second property with the same roses and the same rotation from the same day."""
    hall = Property.objects.get(pk=library.pk)
    hall.pk, hall.name, hall.latitude = None, "Town hall", Decimal("40.27")
    hall.save(force_insert=True)
    bed = type(rose_bed).objects.get(pk=rose_bed.pk)
    bed.pk, bed.property = None, hall
    bed.save(force_insert=True)
    second = Course.objects.create(property=hall, rotation=course.rotation, first_day=FIRST_DAY)
    second.plantings.add(bed)
    for visit in course.visits.order_by("rotation_week__week"):
        visit.pk, visit.course = None, second
        visit.save(force_insert=True)
    return hall


@pytest.fixture
def second_crew(yard, applicator, sprayer):
    """A second crew like the first, with a truck and a sprayer of its own."""
    crew = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts=time(7), shift_ends=time(17)
    )
    truck = Truck.objects.create(name="Truck two", crew=crew, water_gallons=Decimal(50))
    truck.sprayers.add(sprayer)
    return crew
