"""Whether the store lasts for the rotation, the first to expire going first (common practice)."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.facts import LotFacts
from treatments.rules.stock import check_stock

SOAP = "Invented Soap"


def lot(number, balance, expires_on):
    return LotFacts(SOAP, number, Decimal(balance), expires_on)


def weeks_of(a_week, *amounts):
    return [
        a_week(index + 1, date(2026, 6, 1 + 7 * index), amount=Decimal(amount))
        for index, amount in enumerate(amounts)
    ]


def test_a_store_that_lasts_says_nothing(a_week):
    weeks = weeks_of(a_week, 10, 10, 10)

    assert check_stock(weeks, [lot("A", 30, date(2027, 1, 1))]) == []


def test_what_is_short_over_the_whole_rotation_is_told_once(a_week):
    (finding,) = check_stock(weeks_of(a_week, 10, 10, 10), [lot("A", 25, date(2027, 1, 1))])

    assert (finding.code, finding.week) == ("stock-short", 3)
    assert "takes 30 and the store can give 25 by then" in finding.say()
    assert finding.say_remedy() == "Buy at least 5 before 2026-06-15."


def test_a_week_without_an_amount_adds_nothing_to_what_is_needed(a_week):
    weeks = [*weeks_of(a_week, 10, 10), a_week(3, date(2026, 6, 15))]

    (finding,) = check_stock(weeks, [lot("A", 15, date(2027, 1, 1))])

    assert (finding.facts["needed"], finding.facts["held"]) == (20, 15)


def test_an_empty_store_is_short_of_everything(a_week):
    (finding,) = check_stock(weeks_of(a_week, 10), [])

    assert finding.facts["short"] == 10


def test_the_lot_that_expires_first_goes_first(a_week):
    lots = [lot("LATE", 30, date(2027, 1, 1)), lot("SOON", 10, date(2026, 8, 1))]

    (finding,) = check_stock(weeks_of(a_week, 10, 10), lots)

    assert finding.say() == "Take lot SOON of Invented Soap first: it expires on 2026-08-01."


@pytest.mark.parametrize(("balance", "told"), [(0, []), (1, ["lot-first"])])
def test_an_empty_lot_is_no_choice(a_week, codes, balance, told):
    lots = [lot("SOON", balance, date(2026, 8, 1)), lot("LATE", 30, date(2027, 1, 1))]

    assert codes(check_stock(weeks_of(a_week, 10), lots)) == told


def test_a_lot_does_not_expire_for_another_products_week(a_week, a_product):
    weeks = [
        *weeks_of(a_week, 10),
        a_week(3, date(2026, 6, 15), a_product("Invented Oil"), amount=Decimal(5)),
    ]
    lots = [lot("A", 30, date(2026, 6, 10)), LotFacts("Invented Oil", "B", Decimal(5), None)]

    assert check_stock(weeks, lots) == []


def test_a_lot_is_good_on_its_last_day_and_not_after(a_week, codes):
    weeks = weeks_of(a_week, 10, 10)

    assert check_stock(weeks, [lot("A", 20, date(2026, 6, 8))]) == []
    assert check_stock(weeks, [lot("A", 21, date(2026, 6, 8))]) == []
    assert codes(check_stock(weeks, [lot("A", 20, date(2026, 6, 7))])) == [
        "stock-short",
        "lot-expires",
    ]


@pytest.mark.parametrize(("balance", "told"), [(11, ["lot-expires"]), (10, [])])
def test_a_lot_is_told_to_expire_only_while_something_of_it_is_left(a_week, codes, balance, told):
    # common practice; of the first lot the first week takes 10
    lots = [lot("SOON", balance, date(2026, 6, 5)), lot("LATE", 30, date(2027, 1, 1))]

    found = codes(check_stock(weeks_of(a_week, 10, 10), lots))

    assert [code for code in found if code == "lot-expires"] == told


def test_a_lot_that_expires_before_its_day_names_another(a_week):
    lots = [lot("SOON", 20, date(2026, 6, 5)), lot("LATE", 30, date(2027, 1, 1))]

    findings = check_stock(weeks_of(a_week, 10, 10), lots)

    (expiring,) = [each for each in findings if each.code == "lot-expires"]
    assert expiring.week == 2
    assert expiring.say_remedy() == "Take lot LATE then, and use lot SOON before it expires."


def test_weeks_without_an_amount_take_nothing(a_week):
    lots = [lot("SOON", 20, date(2026, 8, 1)), lot("LATE", 30, date(2027, 1, 1))]

    assert check_stock([a_week()], []) == []
    assert check_stock([a_week()], lots) == []
