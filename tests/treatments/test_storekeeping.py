"""The ledger of the store."""

import json
from datetime import date
from decimal import Decimal
from threading import Barrier, Thread
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from treatments.models import JournalEntry, Locker, StockEntry
from treatments.rules.journal import STOCK, entry_id_of
from treatments.storekeeping import (
    bring_back_what_is_used,
    cargo_of,
    carried,
    count_lot,
    dispose,
    draw,
    first_expiry_first,
    move_stock,
    receive_lot,
    return_to_store,
    stock_of,
)


def receive(soap, by, number, expires_on=None, amount=64):
    return receive_lot(
        product=soap,
        lot_number=number,
        amount=Decimal(amount),
        received_on=date(2026, 3, 2),
        expires_on=expires_on,
        by=by,
    )


def test_what_arrives_stands_in_the_ledger(soap, dispatcher):
    lot = receive(soap, dispatcher, "S-2")

    assert lot.left() == 64


def test_more_of_a_known_lot_is_added_to_it(soap, dispatcher):
    first = receive(soap, dispatcher, "S-2")

    again = receive(soap, dispatcher, "S-2")

    assert again == first
    assert first.left() == 128


def test_a_lot_without_a_number_says_why(soap, dispatcher):
    with pytest.raises(ValidationError, match="say why it is not marked"):
        receive(soap, dispatcher, "")


def test_a_delivery_of_nothing_leaves_no_lot(soap, dispatcher):
    with pytest.raises(ValidationError):
        receive(soap, dispatcher, "S-2", amount=0)

    assert not soap.lots.exists()


def test_a_count_sets_the_lot_by_the_difference(soap_lot, dispatcher):
    entry = count_lot(soap_lot, counted=Decimal(120), by=dispatcher)

    assert entry.amount == -8
    assert soap_lot.left() == 120


def test_a_count_that_agrees_is_kept_as_well(soap_lot, dispatcher):
    entry = count_lot(soap_lot, counted=Decimal(128), by=dispatcher)

    assert entry.amount == 0


def test_a_count_below_zero_is_refused(soap_lot, dispatcher):
    with pytest.raises(ValidationError, match="zero or more"):
        count_lot(soap_lot, counted=Decimal(-1), by=dispatcher)


@pytest.mark.parametrize("amount", ["127.999", "128"])
def test_what_a_lot_holds_may_be_drawn(soap_lot, dispatcher, amount):
    draw(soap_lot, amount=Decimal(amount), by=dispatcher)

    assert soap_lot.left() == 128 - Decimal(amount)


def test_more_than_a_lot_holds_is_refused_with_a_sentence(soap_lot, dispatcher):
    with pytest.raises(ValidationError, match=r"holds 128.000 fl oz, less than 128.001"):
        draw(soap_lot, amount=Decimal("128.001"), by=dispatcher)

    assert soap_lot.left() == 128


def test_disposal_says_how(soap_lot, dispatcher):
    with pytest.raises(ValidationError, match="Say how"):
        dispose(soap_lot, amount=Decimal(8), by=dispatcher, note=" ")

    dispose(soap_lot, amount=Decimal(8), by=dispatcher, note="Taken to the county's collection.")

    assert soap_lot.left() == 120


def test_what_comes_home_is_back_in_the_store(soap_lot, dispatcher):
    draw(soap_lot, amount=Decimal(20), by=dispatcher)

    return_to_store(soap_lot, amount=Decimal(12), by=dispatcher)

    assert soap_lot.left() == 120


def test_lots_come_first_expiry_first_and_undated_ones_last(soap, dispatcher):
    undated = receive(soap, dispatcher, "S-0")
    late = receive(soap, dispatcher, "S-3", date(2028, 1, 1))
    early = receive(soap, dispatcher, "S-2", date(2027, 1, 1))

    assert first_expiry_first(soap, date(2026, 7, 6)) == [early, late, undated]


@pytest.mark.parametrize(("day", "good"), [(date(2027, 1, 1), True), (date(2027, 1, 2), False)])
def test_a_lot_is_good_to_its_last_day(soap, dispatcher, day, good):
    lot = receive(soap, dispatcher, "S-2", date(2027, 1, 1))

    assert (lot in first_expiry_first(soap, day)) is good


def test_an_empty_lot_is_not_offered(soap_lot, soap, dispatcher):
    draw(soap_lot, amount=Decimal(128), by=dispatcher)

    assert first_expiry_first(soap, date(2026, 7, 6)) == []


def test_the_stock_of_products_takes_one_query(
    soap_lot, soap, dispatcher, django_assert_num_queries
):
    receive(soap, dispatcher, "S-2")

    with django_assert_num_queries(1):
        lots = stock_of([soap])[soap.pk]

    assert [lot.balance for lot in lots] == [128, 64]


@pytest.mark.django_db(transaction=True)
def test_two_workers_cannot_draw_the_same_ounces(soap_lot, dispatcher):
    together = Barrier(2)
    refused = []

    def work():
        together.wait()
        try:
            draw(soap_lot, amount=Decimal(100), by=dispatcher)
        except ValidationError as wrong:
            refused.append(wrong)
        finally:
            connection.close()

    workers = [Thread(target=work) for _ in range(2)]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    assert len(refused) == 1
    assert soap_lot.left() == 28
    assert StockEntry.objects.filter(kind="applied").count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_twenty_four_draws_at_once_only_what_is_there_goes_out(soap_lot, dispatcher):
    draw(soap_lot, amount=Decimal(28), by=dispatcher)  # leaves a hundred
    together = Barrier(8)
    done = []

    def work():
        together.wait()
        for _time in range(3):
            try:
                done.append(draw(soap_lot, amount=Decimal(20), by=dispatcher))
            except ValidationError:
                continue
        connection.close()

    workers = [Thread(target=work) for _ in range(8)]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    assert len(done) == 5
    assert soap_lot.left() == 0


@pytest.fixture
def truck(db):
    """The locker of a truck."""
    return Locker.objects.create(name="Truck one")


def put_on(truck, lot, by, amount=20):
    return move_stock(lot, amount=Decimal(amount), by=by, origin=None, destination=truck)


def test_what_is_moved_lies_elsewhere_and_is_as_much(soap_lot, truck, dispatcher):
    put_on(truck, soap_lot, dispatcher)

    assert soap_lot.left() == 128
    assert (soap_lot.left_at(None), soap_lot.left_at(truck)) == (108, 20)
    assert [(each.truck, each.amount) for each in carried([soap_lot])[soap_lot.pk]] == [
        ("Truck one", 20)
    ]
    assert [(lot, lot.balance) for lot in cargo_of(truck)] == [(soap_lot, 20)]


def test_product_goes_from_truck_to_truck_and_back(soap_lot, truck, dispatcher):
    other = Locker.objects.create(name="Truck two")
    put_on(truck, soap_lot, dispatcher)

    move_stock(soap_lot, amount=Decimal(20), by=dispatcher, origin=truck, destination=other)
    move_stock(soap_lot, amount=Decimal(20), by=dispatcher, origin=other, destination=None)

    assert soap_lot.left_at(None) == 128
    assert not carried()
    assert not cargo_of(truck)


@pytest.mark.parametrize(
    ("amount", "back", "said"),
    [
        ("108.001", False, "On the shelf lie 108.000 fl oz of .*; the rest is on trucks"),
        ("20.001", True, "Truck one carries 20.000 fl oz of .*, less than 20.001"),
        ("0", False, "Say how much"),
        ("-1", False, "Say how much"),
    ],
)
def test_no_place_is_left_with_less_than_nothing(soap_lot, truck, dispatcher, amount, back, said):
    put_on(truck, soap_lot, dispatcher)
    places = {"origin": truck if back else None, "destination": None if back else truck}

    with pytest.raises(ValidationError, match=said):
        move_stock(soap_lot, amount=Decimal(amount), by=dispatcher, **places)

    assert StockEntry.objects.filter(kind="moved").count() == 2


def test_what_stays_where_it_lies_is_not_moved(soap_lot, truck, dispatcher):
    with pytest.raises(ValidationError, match="another place"):
        move_stock(soap_lot, amount=Decimal(1), by=dispatcher, origin=truck, destination=truck)


def test_shelf_and_truck_are_counted_each_for_itself(soap_lot, truck, dispatcher):
    put_on(truck, soap_lot, dispatcher)

    on_truck = count_lot(soap_lot, counted=Decimal(18), by=dispatcher, locker=truck)
    on_shelf = count_lot(soap_lot, counted=Decimal(108), by=dispatcher)

    assert (on_truck.amount, on_shelf.amount) == (-2, 0)
    assert soap_lot.left() == 126


def test_what_a_truck_carries_is_disposed_of_from_there(soap_lot, truck, dispatcher):
    put_on(truck, soap_lot, dispatcher)

    with pytest.raises(ValidationError, match="Truck one carries"):
        dispose(soap_lot, amount=Decimal(21), by=dispatcher, note="spoilt", locker=truck)
    dispose(soap_lot, amount=Decimal(20), by=dispatcher, note="spoilt", locker=truck)

    assert (soap_lot.left_at(None), soap_lot.left_at(truck)) == (108, 0)


@pytest.mark.parametrize(("used", "still_there"), [(5, 15), (20, 0), (30, 0)])
def test_what_was_used_is_no_longer_on_the_truck(soap_lot, truck, dispatcher, used, still_there):
    put_on(truck, soap_lot, dispatcher)

    bring_back_what_is_used(soap_lot, Decimal(used), truck, by=dispatcher)

    assert soap_lot.left_at(truck) == still_there
    assert soap_lot.left() == 128


def test_each_line_of_a_move_has_its_entry_with_the_truck(soap_lot, truck, dispatcher):
    arrived = put_on(truck, soap_lot, dispatcher)

    entries = JournalEntry.objects.order_by("-seq")[:2]

    assert entries[0].entry_id == entry_id_of(STOCK, arrived.pk)
    bodies = [json.loads(entry.body) for entry in entries]
    assert [body.get("locker") for body in bodies] == [truck.pk, None]
    assert [body.get("truck") for body in bodies] == ["Truck one", None]


def test_what_is_applied_is_drawn_from_the_shelf_alone(soap_lot, truck, dispatcher):
    drawn = StockEntry(
        lot=soap_lot,
        kind="applied",
        amount=Decimal(-1),
        happened_at="2026-07-01T12:00:00Z",
        locker=truck,
    )

    with pytest.raises(ValidationError, match="goes by the store"):
        drawn.full_clean()


@pytest.mark.django_db(transaction=True)
def test_a_move_that_is_sent_twice_at_once_is_entered_once(soap_lot, truck, dispatcher):
    together, form_id = Barrier(2), uuid4()
    places = {"origin": None, "destination": truck}
    arrived = []

    def work():
        together.wait()
        told = {"amount": Decimal(20), "by": dispatcher, "form_id": form_id}
        arrived.append(move_stock(soap_lot, **told, **places))
        connection.close()

    workers = [Thread(target=work) for _ in range(2)]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    assert len({line.pk for line in arrived}) == 1
    assert soap_lot.left_at(truck) == 20


@pytest.mark.django_db(transaction=True)
def test_two_trucks_cannot_be_given_the_same_ounces(soap_lot, dispatcher):
    lockers = [Locker.objects.create(name=f"Truck {number}") for number in (1, 2)]
    together = Barrier(2)
    refused = []

    def work(locker):
        together.wait()
        try:
            put_on(locker, soap_lot, dispatcher, amount=100)
        except ValidationError as wrong:
            refused.append(wrong)
        finally:
            connection.close()

    workers = [Thread(target=work, args=[locker]) for locker in lockers]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    assert len(refused) == 1
    assert soap_lot.left_at(None) == 28
