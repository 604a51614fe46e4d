"""What is to be bought: first to expire goes first, on both sides of a lot's last day.

The figures are small enough to be reckoned by hand.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.facts import LotFacts
from treatments.rules.shopping import Wanted, to_buy

MONDAY = date(2026, 6, 1)


def on(day, amount=8, product="soap"):
    return Wanted(MONDAY + timedelta(days=day), product, Decimal(amount), "fl oz")


def lot(balance, expires=None, number="L1", product="soap"):
    return LotFacts(product, number, Decimal(balance), expires)


def test_what_suffices_is_not_bought():
    assert to_buy([on(0), on(7)], [lot(16)], MONDAY) == ()


def test_less_than_one_unit_is_missing_as_well():
    (line,) = to_buy([on(0)], [lot("7.5")], MONDAY)

    assert line.amount == Decimal("0.5")


def test_what_is_missing_is_bought_by_the_day_before_it_is_first_lacked():
    (line,) = to_buy([on(0), on(7), on(14)], [lot(10)], MONDAY)

    assert (line.amount, line.visits) == (14, 2)  # 8 of 10 on the first day, 2 of 8 on the next
    assert line.buy_by == MONDAY + timedelta(days=6)


@pytest.mark.parametrize(("last_day", "missing", "expiring"), [(7, 0, 0), (6, 8, 8)])
def test_a_lot_is_good_through_its_last_day(last_day, missing, expiring):
    lines = to_buy([on(0), on(7)], [lot(16, MONDAY + timedelta(days=last_day))], MONDAY)

    assert sum(line.amount for line in lines) == missing
    assert sum(line.expiring for line in lines) == expiring


@pytest.mark.parametrize(("day", "buy_by"), [(0, 0), (1, 0), (2, 1)])
def test_nothing_is_bought_before_today(day, buy_by):
    (line,) = to_buy([on(day)], [], MONDAY)

    assert line.buy_by == MONDAY + timedelta(days=buy_by)


def test_the_lot_that_expires_first_is_used_first():
    soon = lot(8, MONDAY + timedelta(days=1), "L2")

    assert to_buy([on(0), on(7)], [lot(8, MONDAY + timedelta(days=30)), soon], MONDAY) == ()


def test_a_lot_counted_below_nothing_gives_nothing_and_takes_nothing():
    (line,) = to_buy([on(0)], [lot(-5)], MONDAY)

    assert line.amount == 8


def test_products_are_told_in_the_order_in_which_they_are_needed():
    lines = to_buy([on(3, product="soap"), on(1, product="oil")], [], MONDAY)

    assert [line.product for line in lines] == ["oil", "soap"]


def test_each_product_has_its_own_lots():
    assert [line.product for line in to_buy([on(0), on(0, product="oil")], [lot(99)], MONDAY)] == [
        "oil"
    ]
