"""Stock that lies on trucks: moved there by hand, told beside each load, used up by records."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
import time_machine

from services.completing import ApplicationReport, complete_visit
from services.dispatching import dispatch_day
from services.models import Truck, Visit
from services.printing.crew_days import crew_day_of
from services.printing.loading import dispatches_for_paper
from treatments.models import Locker
from treatments.recording import amend_application, record_application, void_application
from treatments.storekeeping import move_stock, receive_lot

DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)
DONE = datetime(2026, 7, 6, 22, 40, tzinfo=UTC)
FORM = UUID("01900000-0000-7000-8000-000000000001")


@pytest.fixture
def dawn():
    with time_machine.travel(DAWN, tick=False):
        yield


@pytest.fixture
def route(dawn, visits, crew, soap_lot, owner):
    """The library's roses on Monday: a load of 7.5 fl oz of soap."""
    (made,) = dispatch_day(
        day=visits[0].planned, visits=Visit.objects.filter(pk=visits[0].pk), by=owner, now=DAWN
    ).dispatches
    return made


@pytest.fixture
def made(route, visits, rose_bed, soap_lot, sprayer, applicator, technician):
    """What the crew tells of it, to be given an amount."""

    def tell(amount="7.5", form=FORM):
        report = ApplicationReport(
            planting=rose_bed,
            lot=soap_lot,
            product_amount=Decimal(amount),
            mix_gallons=Decimal(3),
            sprayer=sprayer,
        )
        return complete_visit(
            visits[0],
            reports=[report],
            conditions=None,
            started_at=DONE - timedelta(minutes=40),
            done_at=DONE,
            applicator=applicator,
            by=technician,
            form_id=form,
            now=DONE,
        )

    return tell


def put_on(truck, lot, by, amount):
    return move_stock(
        lot, amount=Decimal(amount), by=by, origin=None, destination=truck.locker, at=DAWN
    )


def loaded(route):
    (again,) = dispatches_for_paper([route])
    (line,) = again.load.all()
    return line


def test_a_truck_has_a_locker_by_its_name(crew):
    locker = crew.truck.locker
    assert locker.name == "Truck one"

    crew.truck.name = "The green one"
    crew.truck.save()

    assert Locker.objects.get(pk=locker.pk).name == "The green one"
    assert Locker.objects.count() == Truck.objects.count()


@pytest.mark.parametrize(("carried", "aboard"), [("3", "3"), ("7.5", "7.5"), ("20", "7.5")])
def test_a_load_says_what_is_on_its_truck_already(
    route, crew, soap_lot, dispatcher, carried, aboard
):
    put_on(crew.truck, soap_lot, dispatcher, carried)

    line = loaded(route)

    assert (line.amount, line.aboard) == (Decimal("7.5"), Decimal(aboard))


def test_what_serves_today_does_not_serve_tomorrow_as_well(
    town_hall, route, visits, crew, soap_lot, owner, dispatcher
):
    put_on(crew.truck, soap_lot, dispatcher, 10)
    tomorrow = visits[0].planned + timedelta(days=1)
    others = Visit.objects.filter(course__property=town_hall, rotation_week__week=1)
    (later,) = dispatch_day(day=tomorrow, visits=others, by=owner, now=DAWN).dispatches

    assert (loaded(route).aboard, loaded(later).aboard) == (Decimal("7.5"), Decimal("2.5"))


@pytest.fixture
def newer_lot(soap, dispatcher):
    """A lot that expires later than the first."""
    return receive_lot(
        product=soap,
        lot_number="S-9",
        amount=Decimal(64),
        received_on=DAWN.date(),
        expires_on=DAWN.date() + timedelta(days=900),
        by=dispatcher,
    )


@pytest.mark.parametrize(
    ("carried", "taken"),
    [(0, {"S-1": "7.5"}), (5, {"S-1": "2.5", "S-9": "5"}), (9, {"S-9": "7.5"})],
)
def test_a_load_is_of_what_lies_on_its_truck_already(
    dawn, visits, crew, soap_lot, newer_lot, dispatcher, owner, carried, taken
):
    if carried:
        put_on(crew.truck, newer_lot, dispatcher, carried)

    (made,) = dispatch_day(
        day=visits[0].planned, visits=Visit.objects.filter(pk=visits[0].pk), by=owner, now=DAWN
    ).dispatches

    load = {line.lot.lot_number: line.amount for line in made.load.all()}
    assert load == {number: Decimal(amount) for number, amount in taken.items()}


def test_a_load_says_which_other_truck_carries_of_its_lot(route, second_crew, soap_lot, dispatcher):
    put_on(second_crew.truck, soap_lot, dispatcher, 20)

    line = loaded(route)

    assert line.aboard == 0
    assert [(each.truck, each.amount) for each in line.elsewhere] == [("Truck two", 20)]


def test_page_paper_phone_and_program_are_told(client, api, route, crew, soap_lot, owner):
    put_on(crew.truck, soap_lot, owner, 3)
    client.force_login(owner)
    api.force_authenticate(owner)

    page = client.get(f"/day/{route.day}/").content.decode()
    (line,) = api.get(f"/api/v1/dispatches/{route.pk}/").data["load"]
    (again,) = dispatches_for_paper([route])

    assert "3 fl oz of it are on the truck already" in page
    assert line["aboard"] == "3.000"
    assert any("carries 3 fl oz of Quiet Soap" in note for note in crew_day_of(again).notes)


def test_without_moves_nothing_is_said(client, route, owner):
    client.force_login(owner)

    page = client.get(f"/day/{route.day}/").content.decode()

    assert "on the truck already" not in page
    (again,) = dispatches_for_paper([route])
    assert not any("carries" in note for note in crew_day_of(again).notes)


@pytest.mark.parametrize(("carried", "left"), [("3", "0"), ("7.5", "0"), ("20", "12.5")])
def test_what_a_crew_applies_is_no_longer_on_its_truck(
    made, crew, soap_lot, dispatcher, carried, left
):
    put_on(crew.truck, soap_lot, dispatcher, carried)

    made()

    assert soap_lot.left_at(crew.truck.locker) == Decimal(left)
    assert soap_lot.left() == Decimal("120.5")


def test_the_same_report_uses_it_up_once(made, crew, soap_lot, dispatcher):
    put_on(crew.truck, soap_lot, dispatcher, 20)

    made()
    made()

    assert soap_lot.left_at(crew.truck.locker) == Decimal("12.5")


def test_more_than_there_is_leaves_the_truck_empty_and_the_shelf_to_be_counted(
    made, crew, soap_lot, dispatcher
):
    put_on(crew.truck, soap_lot, dispatcher, 20)

    made(amount="200")

    assert soap_lot.left_at(crew.truck.locker) == 0
    assert soap_lot.left_at(None) == -72


@pytest.mark.parametrize("carried", ["0", "3", "20"])
def test_what_a_void_record_gives_back_is_where_it_was_taken(
    made, crew, soap_lot, dispatcher, owner, carried
):
    if Decimal(carried):
        put_on(crew.truck, soap_lot, dispatcher, carried)
    (record,) = made()

    void_application(record, reason="It was another lot.", by=owner, now=DONE)

    assert soap_lot.left() == 128
    assert soap_lot.left_at(crew.truck.locker) == Decimal(carried)


def test_an_amendment_that_says_less_and_then_none_gives_the_truck_back_what_it_took(
    made, crew, soap_lot, dispatcher, owner
):
    put_on(crew.truck, soap_lot, dispatcher, 6)
    (record,) = made()

    less = amend_application(
        record, reason="Misread the jar.", by=owner, now=DONE, product_amount=Decimal(5)
    )
    assert soap_lot.left_at(crew.truck.locker) == Decimal("2.5")
    void_application(less, reason="It was another lot.", by=owner, now=DONE)

    assert soap_lot.left_at(crew.truck.locker) == 6
    assert soap_lot.left_at(None) == 122


def test_each_record_gives_back_its_own(made, crew, soap_lot, dispatcher, owner, stated):
    put_on(crew.truck, soap_lot, dispatcher, 10)
    made()
    again = stated | {"product_amount": Decimal("7.5")}
    second = record_application(**again, locker=crew.truck.locker)
    assert soap_lot.left_at(crew.truck.locker) == 0

    void_application(second, reason="Told twice by phone.", by=owner, now=DONE)

    assert soap_lot.left_at(crew.truck.locker) == Decimal("2.5")


def test_a_shelf_that_lacks_gives_no_truck_anything(
    made, crew, soap_lot, dispatcher, owner, stated
):
    put_on(crew.truck, soap_lot, dispatcher, 20)
    (record,) = made()
    record_application(**stated | {"product_amount": Decimal(300)})

    void_application(record, reason="It was another lot.", by=owner, now=DONE)

    assert soap_lot.left_at(crew.truck.locker) == Decimal("12.5")
    assert soap_lot.left() == -172


def test_the_page_of_a_truck_shows_what_it_carries(client, crew, soap_lot, owner):
    client.force_login(owner)
    address = f"/trucks/{crew.truck.pk}/edit/"
    assert "What it carries" not in client.get(address).content.decode()

    put_on(crew.truck, soap_lot, owner, 3)

    page = client.get(address).content.decode()
    assert "What it carries of the store" in page
    assert "3 fl oz" in page
