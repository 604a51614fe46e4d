"""Loads of trucks, reckoned by hand.  That what expires first goes first is common practice."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.loading import (
    ProductNeed,
    StopNeeds,
    left_aboard,
    load_truck,
    load_trucks,
    usable_lots,
)
from treatments.rules.facts import LotFacts

TODAY = date(2026, 6, 15)
JULY, AUGUST = date(2026, 7, 1), date(2026, 8, 1)


def soap(amount):
    return ProductNeed("soap", Decimal(amount), "fl oz")


def lot(number, balance, expires_on=None, product="soap"):
    return LotFacts(product, number, Decimal(balance), expires_on)


def one_stop(*needs, key="library", **changes):
    return StopNeeds(key, needs, **changes)


def loaded(stops, lots):
    load, _ = load_truck("Truck 1", stops, lots, TODAY)
    return load


def drawn(load):
    return [(line.lot_number, line.amount) for line in load.lines]


def test_the_lot_that_expires_first_is_used_up_first():
    lots = [lot("L1", 10), lot("L2", 10, AUGUST), lot("L3", 10, JULY)]

    load = loaded([one_stop(soap(25))], lots)

    assert drawn(load) == [("L3", 10), ("L2", 10), ("L1", 5)]
    assert load.shortages == ()


def test_what_is_aboard_is_used_before_what_expires_first_and_each_by_its_expiry():
    lots = [lot("L1", 40, AUGUST), lot("L2", 10, JULY), lot("L3", 40, date(2026, 9, 1))]
    aboard = {("soap", "L3"): Decimal(5), ("soap", "L1"): Decimal(20), ("soap", "L9"): Decimal(7)}
    stops = [one_stop(soap(amount), key=str(amount)) for amount in (18, 5, 20)]

    load, left = load_truck("Truck 1", stops, lots, TODAY, aboard)

    assert [(draw.stop_key, draw.lot_number, draw.amount) for draw in load.draws] == [
        ("18", "L1", 18),  # of the 20 aboard
        ("5", "L1", 2),
        ("5", "L3", 3),  # of the 5 aboard
        ("20", "L2", 10),
        ("20", "L1", 8),
        ("20", "L3", 2),
    ]
    assert [one.balance for one in left] == [12, 0, 35]


def test_what_is_aboard_of_an_expired_lot_or_promised_to_others_is_not_used():
    lots = [lot("old", 10, date(2026, 6, 14)), lot("new", 3)]
    aboard = {("soap", "old"): Decimal(10), ("soap", "new"): Decimal(8)}

    load, _ = load_truck("Truck 1", [one_stop(soap(5))], lots, TODAY, aboard)

    assert drawn(load) == [("new", 3)]
    assert [short.code for short in load.shortages] == ["stock-short-but-expired"]


def test_of_what_was_aboard_nothing_is_left_once_more_was_taken():
    load = loaded([one_stop(soap(8))], [lot("L1", 8)])

    assert left_aboard({("soap", "L1"): Decimal(5)}, load.lines) == {("soap", "L1"): 0}


def test_each_truck_prefers_what_it_carries_itself():
    lots = [lot("L1", 20, JULY), lot("L2", 20, AUGUST)]
    trucks = {name: [one_stop(soap(5))] for name in ("Truck 1", "Truck 2")}

    loads = load_trucks(trucks, lots, TODAY, {"Truck 2": {("soap", "L2"): Decimal(5)}})

    assert [drawn(load) for load in loads] == [[("L1", 5)], [("L2", 5)]]


@pytest.mark.parametrize(
    ("expires_on", "usable"), [(date(2026, 6, 14), 0), (TODAY, 1), (date(2026, 6, 16), 1)]
)
def test_a_lot_is_good_through_the_day_it_expires_on(expires_on, usable):
    assert len(usable_lots("soap", [lot("L1", 10, expires_on)], TODAY)) == usable


@pytest.mark.parametrize("balance", ["0", "-3"])
def test_a_lot_that_is_empty_or_below_nothing_gives_nothing(balance):
    assert usable_lots("soap", [lot("L1", balance)], TODAY) == []


def test_stops_of_a_truck_share_a_line_and_keep_their_own_draws():
    stops = [one_stop(soap(4), key="library"), one_stop(soap("3.5"), key="school")]

    load = loaded(stops, [lot("L1", 20)])

    assert drawn(load) == [("L1", Decimal("7.5"))]
    assert [(d.stop_key, d.amount) for d in load.draws] == [
        ("library", Decimal(4)),
        ("school", Decimal("3.5")),
    ]


def test_what_one_truck_takes_is_gone_for_the_next():
    trucks = {"Truck 1": [one_stop(soap(8))], "Truck 2": [one_stop(soap(8), key="school")]}

    first, second = load_trucks(trucks, [lot("L1", 10, JULY), lot("L2", 4)], TODAY)

    assert drawn(first) == [("L1", 8)]
    assert drawn(second) == [("L1", 2), ("L2", 4)]
    assert second.shortages[0].say() == "Truck 2 lacks 2 fl oz of soap for school."


def test_just_enough_is_no_shortage_and_a_drop_less_is():
    assert loaded([one_stop(soap(10))], [lot("L1", 10)]).shortages == ()
    assert loaded([one_stop(soap("10.01"))], [lot("L1", 10)]).shortages[0].facts["amount"] == "0.01"


def test_a_shortage_names_the_expired_lots_that_stay_in_the_store():
    load = loaded([one_stop(soap(10))], [lot("L9", "0.5", date(2026, 6, 14))])

    assert load.lines == ()
    assert "the lots L9 have expired" in load.shortages[0].say()


def test_an_expired_lot_that_is_empty_is_not_named():
    load = loaded([one_stop(soap(10))], [lot("L9", 0, date(2026, 6, 14))])

    assert [short.code for short in load.shortages] == ["stock-short"]


def test_another_products_lot_is_not_touched():
    _, left = load_truck("Truck 1", [one_stop(soap(5))], [lot("L1", 10, None, "oil")], TODAY)

    assert left == (lot("L1", 10, None, "oil"),)


def test_adjuvants_come_after_the_products():
    spreader = ProductNeed("a spreader", Decimal(1), "fl oz", adjuvant=True)
    lots = [lot("S1", 5, None, "a spreader"), lot("L1", 5)]

    load = loaded([one_stop(spreader, soap(1))], lots)

    assert [line.product for line in load.lines] == ["soap", "a spreader"]


def test_water_signs_and_gear_are_those_of_all_stops():
    stops = [
        one_stop(
            water_gallons=Decimal("12.5"), signs=2, protective_equipment=frozenset({"gloves"})
        ),
        one_stop(
            key="school",
            water_gallons=Decimal(30),
            signs=1,
            protective_equipment=frozenset({"gloves", "eyewear"}),
        ),
    ]

    load = loaded(stops, [])

    assert (load.water_gallons, load.signs) == (Decimal("42.5"), 3)
    assert load.protective_equipment == ("eyewear", "gloves")


def test_a_truck_without_stops_takes_nothing():
    load = loaded([], [lot("L1", 10)])

    assert (load.lines, load.water_gallons, load.protective_equipment) == ((), 0, ())


def test_a_negative_amount_is_refused():
    with pytest.raises(ValueError, match="not negative"):
        soap(-1)


amounts = st.decimals(0, 50, places=2)


@given(
    st.lists(st.tuples(amounts, st.dates(date(2026, 6, 1), date(2026, 7, 1))), max_size=5),
    st.lists(st.lists(amounts, max_size=4), max_size=4),
)
def test_nothing_is_given_twice_and_nothing_is_lost(balances, trucks):
    lots = [lot(f"L{n}", *lot_of) for n, lot_of in enumerate(balances)]
    needs = {
        f"Truck {t}": [one_stop(soap(a), key=f"{t}-{n}") for n, a in enumerate(stops)]
        for t, stops in enumerate(trucks)
    }

    loads = load_trucks(needs, lots, TODAY)

    given_out = sum(line.amount for load in loads for line in load.lines)
    good = sum(one.balance for one in lots if one.expires_on >= TODAY)
    assert given_out == min(good, sum(map(sum, trucks)))
    for one in lots:
        lines = [line for load in loads for line in load.lines if line.lot_number == one.lot_number]
        assert sum(line.amount for line in lines) <= one.balance
