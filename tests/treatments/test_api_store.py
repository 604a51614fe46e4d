"""Lots, the ledger and counts through the API."""

import pytest

from clients.access import Reach
from treatments.models import Locker, Lot, ScoutingCount, StockEntry

DELIVERY = {"lot_number": "S-7", "received_on": "2026-07-01", "amount": "64"}
FORM = "01900000-0000-7000-8000-000000000001"
COUNT = {"scouted_at": "2026-07-01T14:00:00Z", "leaves_looked_at": 20, "leaves_infested": 12}


def test_a_lot_comes_with_what_is_left(api, dispatcher, soap_lot):
    api.force_authenticate(dispatcher)

    answer = api.get("/api/v1/lots/")

    assert answer.data["results"][0]["balance"] == "128.000"


def test_a_delivery_makes_a_lot_and_more_of_it_is_added(api, dispatcher, soap):
    api.force_authenticate(dispatcher)

    first = api.post("/api/v1/lots/", {**DELIVERY, "product": soap.pk})
    again = api.post("/api/v1/lots/", {**DELIVERY, "product": soap.pk})

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.data["balance"] == "128.000"
    assert Lot.objects.count() == 1


def test_a_lot_without_a_number_says_why(api, dispatcher, soap):
    api.force_authenticate(dispatcher)

    answer = api.post("/api/v1/lots/", {**DELIVERY, "product": soap.pk, "lot_number": ""})

    assert answer.status_code == 400
    assert "say why it is not marked" in str(answer.data)


def test_many_lots_ask_as_often_as_one(api, dispatcher, soap, django_assert_max_num_queries):
    api.force_authenticate(dispatcher)
    for number in range(4):
        api.post("/api/v1/lots/", {**DELIVERY, "product": soap.pk, "lot_number": f"S-{number}"})

    with django_assert_max_num_queries(3):  # role, count, lots
        assert api.get("/api/v1/lots/").data["count"] == 4


@pytest.mark.parametrize(
    ("kind", "amount", "left"),
    [("counted", "100", 100), ("disposed", "8", 120), ("returned", "4", 132)],
)
def test_what_happens_to_a_lot_stands_in_the_ledger(api, dispatcher, soap_lot, kind, amount, left):
    api.force_authenticate(dispatcher)
    move = {"lot": soap_lot.pk, "kind": kind, "amount": amount, "note": "on the shelf"}

    answer = api.post("/api/v1/stock-entries/", move)

    assert answer.status_code == 201
    assert answer.data["kind"] == kind
    assert soap_lot.left() == left


def test_product_is_moved_to_a_truck_and_counted_there(api, dispatcher, soap_lot):
    api.force_authenticate(dispatcher)
    truck = Locker.objects.create(name="Truck one")
    move = {"lot": soap_lot.pk, "kind": "moved", "amount": "20", "destination": truck.pk}

    moved = api.post("/api/v1/stock-entries/", move)
    counted = api.post(
        "/api/v1/stock-entries/",
        {"lot": soap_lot.pk, "kind": "counted", "amount": "19", "locker": truck.pk},
    )

    assert (moved.status_code, counted.status_code) == (201, 201)
    assert (moved.data["locker"], moved.data["amount"]) == (truck.pk, "20.000")
    assert counted.data["amount"] == "-1.000"
    there = api.get(f"/api/v1/stock-entries/?locker={truck.pk}").data["results"]
    assert [line["amount"] for line in there] == ["20.000", "-1.000"]


@pytest.mark.parametrize(
    ("told", "left"),
    [
        ({"kind": "moved", "amount": "100"}, 128),
        ({"kind": "disposed", "amount": "100", "note": "poured away"}, 28),
        ({"kind": "returned", "amount": "4"}, 132),
        ({"kind": "counted", "amount": "100"}, 100),
    ],
)
def test_a_line_that_is_sent_twice_is_entered_once(api, dispatcher, soap_lot, told, left):
    api.force_authenticate(dispatcher)
    truck = Locker.objects.create(name="Truck one")
    there = {"destination": truck.pk} if told["kind"] == "moved" else {}
    line = {"lot": soap_lot.pk, "form_id": FORM, **told, **there}

    first = api.post("/api/v1/stock-entries/", line)
    again = api.post("/api/v1/stock-entries/", line)

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.data == first.data
    assert soap_lot.left() == left


def test_a_delivery_that_is_sent_twice_is_received_once(api, dispatcher, soap):
    api.force_authenticate(dispatcher)
    delivery = {**DELIVERY, "product": soap.pk, "form_id": FORM}

    for _time in range(2):
        answer = api.post("/api/v1/lots/", delivery)
        assert (answer.status_code, answer.data["balance"]) == (201, "64.000")


def test_concentrate_that_is_sent_twice_goes_back_once(api, dispatcher, soap_lot):
    api.force_authenticate(dispatcher)
    jar = {"lot": soap_lot.pk, "amount": "2", "is_undiluted": True, "form_id": FORM}

    for _time in range(2):
        assert api.post("/api/v1/leftovers/concentrate/", jar).status_code == 201

    assert soap_lot.left() == 130


def test_a_form_id_of_another_lot_is_refused(api, dispatcher, soap, soap_lot):
    api.force_authenticate(dispatcher)
    api.post("/api/v1/lots/", {**DELIVERY, "product": soap.pk, "form_id": FORM})

    answer = api.post(
        "/api/v1/stock-entries/",
        {"lot": soap_lot.pk, "kind": "returned", "amount": "4", "form_id": FORM},
    )

    assert answer.status_code == 400
    assert "used for something else" in str(answer.data)
    assert soap_lot.left() == 128


@pytest.mark.parametrize(
    ("kind", "place"),
    [("returned", "locker"), ("returned", "destination"), ("counted", "destination")],
)
def test_a_place_that_has_no_sense_is_refused(api, dispatcher, soap_lot, kind, place):
    api.force_authenticate(dispatcher)
    truck = Locker.objects.create(name="Truck one")

    answer = api.post(
        "/api/v1/stock-entries/",
        {"lot": soap_lot.pk, "kind": kind, "amount": "1", place: truck.pk},
    )

    assert answer.status_code == 400
    assert place in str(answer.data)
    assert StockEntry.objects.count() == 1


def test_an_application_is_not_entered_by_hand(api, dispatcher, soap_lot):
    api.force_authenticate(dispatcher)

    answer = api.post(
        "/api/v1/stock-entries/", {"lot": soap_lot.pk, "kind": "applied", "amount": "1"}
    )

    assert answer.status_code == 400


def test_more_than_a_lot_holds_is_not_disposed_of(api, dispatcher, soap_lot):
    api.force_authenticate(dispatcher)
    move = {"lot": soap_lot.pk, "kind": "disposed", "amount": "129", "note": "poured away"}

    answer = api.post("/api/v1/stock-entries/", move)

    assert answer.status_code == 400
    assert "less than 129" in str(answer.data)
    assert StockEntry.objects.count() == 1


def test_a_line_of_the_ledger_is_not_changed(api, owner, soap_lot):
    api.force_authenticate(owner)
    line = soap_lot.entries.get()

    assert api.patch(f"/api/v1/stock-entries/{line.pk}/", {"amount": "1"}).status_code == 405
    assert api.delete(f"/api/v1/stock-entries/{line.pk}/").status_code == 405


def test_a_count_is_kept_once_however_often_it_is_sent(api, dispatcher, rose_bed, spider_mite):
    api.force_authenticate(dispatcher)
    count = {**COUNT, "planting": rose_bed.pk, "pest": spider_mite.pk, "adults": 100}

    first = api.post("/api/v1/counts/", count)
    again = api.post("/api/v1/counts/", count)

    assert first.data["motiles_per_leaf"] == 5
    assert again.data["id"] == first.data["id"]
    assert ScoutingCount.objects.get().scouted_by == dispatcher


def test_a_technician_counts_only_within_reach(api, technician, rose_bed, spider_mite, monkeypatch):
    api.force_authenticate(technician)
    count = {**COUNT, "planting": rose_bed.pk, "pest": spider_mite.pk}
    assert api.post("/api/v1/counts/", count).status_code == 400

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert api.post("/api/v1/counts/", count).status_code == 201
    assert api.get("/api/v1/counts/").data["count"] == 1


def test_more_infested_leaves_than_leaves_are_refused(api, dispatcher, rose_bed, spider_mite):
    api.force_authenticate(dispatcher)
    count = {**COUNT, "planting": rose_bed.pk, "pest": spider_mite.pk, "leaves_infested": 21}

    answer = api.post("/api/v1/counts/", count)

    assert answer.status_code == 400
    assert not ScoutingCount.objects.exists()


def test_what_a_unit_costs_is_for_the_office_alone(api, dispatcher, applicator, soap_lot):
    api.force_authenticate(dispatcher)
    assert "unit_cost" in api.get(f"/api/v1/lots/{soap_lot.pk}/").data
    assert "price" in api.get(f"/api/v1/products/{soap_lot.product_id}/").data

    api.force_authenticate(applicator.user)

    assert "unit_cost" not in api.get(f"/api/v1/lots/{soap_lot.pk}/").data
    assert "price" not in api.get(f"/api/v1/products/{soap_lot.product_id}/").data
