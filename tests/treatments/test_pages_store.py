"""The pages of the store and of each lot's ledger."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from treatments.models import Locker, Lot, StockEntry
from treatments.reserving import Reserved
from treatments.storekeeping import count_lot, dispose, receive_lot

TODAY = "2026-07-01T16:00:00Z"


@pytest.fixture
def shelf(client, dispatcher):
    """The office, signed in before the store."""
    client.force_login(dispatcher)
    return client


def receive(soap, by, number, expires_on=None, amount=64):
    return receive_lot(
        product=soap,
        lot_number=number,
        amount=Decimal(amount),
        received_on=date(2026, 3, 2),
        expires_on=expires_on,
        by=by,
    )


def page_of(client, address="/store/"):
    return client.get(address).content.decode()


def test_a_stranger_is_asked_to_sign_in(client, soap_lot):
    assert client.get("/store/").status_code == 302


def test_a_technician_does_not_see_the_store(client, technician, soap_lot):
    client.force_login(technician)

    assert client.get("/store/").status_code == 403
    assert client.get(f"/store/lots/{soap_lot.pk}/").status_code == 403


def test_an_empty_store_says_what_will_stand_there(shelf):
    assert "It begins with a product and its first delivery." in page_of(shelf)


def test_lots_stand_under_their_product_with_what_is_left(shelf, soap_lot):
    page = page_of(shelf)

    assert "Quiet Soap" in page
    assert "128 fl oz" in page


@pytest.mark.parametrize(
    ("expires_on", "word"),
    [
        (date(2026, 6, 30), "expired"),
        (date(2026, 7, 1), "expires soon"),  # the last day counts
        (date(2026, 8, 30), "expires soon"),  # sixty days ahead
        (date(2026, 8, 31), ""),
    ],
)
def test_the_expiry_of_a_lot_is_said_in_words(shelf, soap, dispatcher, expires_on, word):
    receive(soap, dispatcher, "S-2", expires_on)

    with time_machine.travel(TODAY):
        page = page_of(shelf)

    words = {each for each in ("expired", "expires soon") if f">{each}</span>" in page}
    assert words == ({word} if word else set())


def test_what_expires_first_is_used_first(shelf, soap, dispatcher):
    receive(soap, dispatcher, "S-9", date(2027, 5, 1))
    receive(soap, dispatcher, "S-8", date(2027, 4, 1))

    with time_machine.travel(TODAY):
        page = page_of(shelf)

    assert page.index("S-8") < page.index("use first") < page.index("S-9")


def test_empty_lots_are_shown_when_asked_for(shelf, soap_lot):
    shelf.post(f"/store/lots/{soap_lot.pk}/count/", {"counted": "0"})

    assert "S-1" not in page_of(shelf)
    assert "S-1" in page_of(shelf, "/store/?empty=too")


def test_what_is_reserved_is_told_from_above(shelf, soap_lot, monkeypatch):
    monkeypatch.setattr(Reserved, "amounts_of", lambda lots: {soap_lot.pk: Decimal(30)})

    assert "Reserved" in page_of(shelf)


def test_the_store_asks_as_often_for_many_lots_as_for_one(
    shelf, soap, soap_lot, dispatcher, count_queries
):
    once = count_queries("/store/")
    for number in range(3):
        receive(soap, dispatcher, f"S-1{number}")

    assert count_queries("/store/") == once


def test_a_ledger_shows_what_was_left_after_each_line(shelf, soap_lot):
    shelf.post(
        f"/store/lots/{soap_lot.pk}/dispose/", {"amount": "8", "note": "spilled and swept up"}
    )

    page = page_of(shelf, f"/store/lots/{soap_lot.pk}/")

    assert "spilled and swept up" in page
    assert "-8" in page
    assert "120 fl oz left" in page


def test_a_ledger_asks_as_often_for_many_lines_as_for_one(shelf, soap_lot, count_queries):
    address = f"/store/lots/{soap_lot.pk}/"
    once = count_queries(address)
    for counted in ("100", "90", "80"):
        shelf.post(f"{address}count/", {"counted": counted})
    shelf.get(address)  # shows the three messages

    assert count_queries(address) == once


def test_a_delivery_is_put_into_the_ledger(shelf, soap):
    delivery = {
        "product": soap.pk,
        "lot_number": "S-7",
        "amount": "64",
        "received_on": "2026-07-01",
    }

    answer = shelf.post("/store/receive/", delivery)

    lot = Lot.objects.get()
    assert answer["Location"] == f"/store/lots/{lot.pk}/"
    assert lot.left() == 64


def test_a_button_pressed_twice_receives_once(shelf, soap):
    delivery = {
        "form_id": str(uuid4()),
        "product": soap.pk,
        "lot_number": "S-7",
        "amount": "64",
        "received_on": "2026-07-01",
    }

    shelf.post("/store/receive/", delivery)
    again = shelf.post("/store/receive/", delivery)

    assert again.status_code == 302
    assert Lot.objects.get().left() == 64


def test_a_delivery_without_a_number_says_why_and_keeps_what_was_typed(shelf, soap):
    delivery = {"product": soap.pk, "amount": "64.5", "received_on": "2026-07-01"}

    answer = shelf.post("/store/receive/", delivery)

    assert answer.status_code == 422
    assert "say why it is not marked" in answer.content.decode()
    assert 'value="64.5"' in answer.content.decode()


def test_a_refused_form_can_be_sent_again(shelf, soap):
    delivery = {
        "form_id": str(uuid4()),
        "product": soap.pk,
        "amount": "1",
        "received_on": "2026-07-01",
    }
    shelf.post("/store/receive/", delivery)

    answer = shelf.post("/store/receive/", {**delivery, "lot_number": "S-7"})

    assert answer.status_code == 302
    assert Lot.objects.get().left() == 1


def test_more_than_a_lot_holds_is_not_disposed_of(shelf, soap_lot):
    answer = shelf.post(f"/store/lots/{soap_lot.pk}/dispose/", {"amount": "129", "note": "poured"})

    assert answer.status_code == 422
    assert "less than 129" in answer.content.decode()
    assert StockEntry.objects.count() == 1


def test_what_comes_home_is_added(shelf, soap_lot):
    shelf.post(f"/store/lots/{soap_lot.pk}/return/", {"amount": "4"})

    assert soap_lot.left() == 132


def test_an_applicator_is_not_shown_what_a_unit_costs(client, owner, applicator, soap_lot):
    client.force_login(owner)
    assert "cost a unit" in client.get("/store/receive/").content.decode().lower()
    assert (
        "price a unit"
        in client.get(f"/products/{soap_lot.product_id}/edit/").content.decode().lower()
    )

    client.force_login(applicator.user)

    assert "cost a unit" not in client.get("/store/receive/").content.decode().lower()
    page = client.get(f"/products/{soap_lot.product_id}/edit/").content.decode().lower()
    assert "price a unit" not in page


def test_what_was_disposed_of_stands_in_one_list(client, dispatcher, soap_lot):
    client.force_login(dispatcher)
    dispose(soap_lot, amount=Decimal(3), by=dispatcher, note="taken to the county's day")
    count_lot(soap_lot, counted=Decimal(1), by=dispatcher, note="a count is none")

    page = client.get("/store/disposals/").content.decode()

    assert "taken to the county&#x27;s day" in page
    assert "a count is none" not in page


def test_a_move_is_offered_where_there_is_a_truck(shelf, soap_lot):
    assert "/move/" not in page_of(shelf, f"/store/lots/{soap_lot.pk}/")
    Locker.objects.create(name="Truck one")

    assert "/move/" in page_of(shelf, f"/store/lots/{soap_lot.pk}/")


def test_what_is_moved_to_a_truck_is_shown_there_once(shelf, soap_lot):
    truck = Locker.objects.create(name="Truck one")
    address = f"/store/lots/{soap_lot.pk}/"
    move = {"form_id": str(uuid4()), "destination": truck.pk, "amount": "20"}

    shelf.post(f"{address}move/", move)
    again = shelf.post(f"{address}move/", move)

    assert again.status_code == 302
    page = page_of(shelf, address)
    assert "108 fl oz" in page
    assert "20 fl oz" in page
    assert "128 fl oz left" in page
    assert "20 on Truck one" in page_of(shelf)


def test_more_than_a_truck_carries_is_not_moved_from_it(shelf, soap_lot):
    truck = Locker.objects.create(name="Truck one")

    answer = shelf.post(f"/store/lots/{soap_lot.pk}/move/", {"origin": truck.pk, "amount": "1"})

    assert answer.status_code == 422
    assert "Truck one carries 0" in answer.content.decode()


def test_a_truck_is_counted_by_itself(shelf, soap_lot):
    truck = Locker.objects.create(name="Truck one")
    address = f"/store/lots/{soap_lot.pk}/"
    shelf.post(f"{address}move/", {"destination": truck.pk, "amount": "20"})

    shelf.post(f"{address}count/", {"locker": truck.pk, "counted": "15"})

    assert soap_lot.left_at(truck) == 15
    assert soap_lot.left_at(None) == 108
