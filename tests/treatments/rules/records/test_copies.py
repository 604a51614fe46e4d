"""Whose client is given a copy of a record, and by when, by the rules of the states."""

from datetime import date

import pytest

from treatments.rules.records import Circumstances, copies_due, knows_of_copies

DAY = date(2026, 6, 1)
ORDINARY = Circumstances()
RESTRICTED = Circumstances(restricted_use=True)


def test_idaho_asks_for_a_copy_within_30_days_of_restricted_use():
    # [ID-02-03-03] restricted use: to the customer within 30 days
    duty = copies_due(DAY, "US-ID", RESTRICTED)[0]

    assert duty.due_on == date(2026, 7, 1)
    assert copies_due(DAY, "US-ID", ORDINARY) == []


def test_minnesota_asks_for_a_copy_always_and_names_no_day():
    # [MN-18B] Minn. Stat. 18B.37 subd. 2: a copy must be given to the customer
    assert [duty.due_on for duty in copies_due(DAY, "US-MN", ORDINARY)] == [None]


def test_pennsylvania_asks_for_a_copy_where_an_agricultural_commodity_is_grown():
    # [PA-128-35] restricted use on an agricultural commodity, 30 days
    grown = Circumstances(restricted_use=True, agricultural_commodity=True)

    assert copies_due(DAY, "US-PA", grown)[0].due_on == date(2026, 7, 1)
    assert copies_due(DAY, "US-PA", RESTRICTED) == []


@pytest.mark.parametrize(("day", "number"), [(date(2025, 7, 10), 1), (date(2025, 7, 11), 0)])
def test_the_rescinded_federal_copy_is_asked_of_earlier_work_only(day, number):
    # [7CFR110] rescinded with effect of 11 July 2025
    assert len(copies_due(day, "US-NJ", RESTRICTED)) == number


def test_a_rule_that_is_not_in_the_table_is_not_known():
    assert knows_of_copies("US-MN", DAY)
    assert not knows_of_copies("US-NJ", DAY)
    assert not knows_of_copies("US-ZZ", DAY)
