"""The rows that labels lay over a season; columns are numbered week by week, offer by offer."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing.label_rows import (
    active_rows,
    interval_rows,
    separation_rows,
    total_rows,
)
from treatments.rules.composing.rows import Grid
from treatments.rules.facts import IngredientFacts, PastApplication

FIRST = date(2026, 6, 1)
IN_SPRING, LAST_YEAR = FIRST - timedelta(30), FIRST - timedelta(300)


def rows_of(ask, season):
    return [(row.columns, row.upper) for row in ask(Grid(season))]


def weighed_rows_of(ask, season):
    """Rows with what each column weighs in shares of the limit."""
    return [(row.columns, row.upper, set(row.weights)) for row in ask(Grid(season))]


def test_a_record_bars_its_label_for_the_days_that_it_asks_for(a_season, an_offer):
    soap = an_offer("Soap", changes={"minimum_interval_days": 14})
    week_before = PastApplication(FIRST - timedelta(7), soap.product)

    rows = rows_of(interval_rows, a_season(soap, history=[week_before]))

    assert rows == [([0, 1], 1), ([1, 2], 1), ([2, 3], 1), ([0], 0)]


def test_a_label_that_asks_for_no_days_bars_not_even_the_day_of_its_record(a_season, an_offer):
    soap = an_offer("Soap")

    assert (
        rows_of(interval_rows, a_season(soap, history=[PastApplication(FIRST, soap.product)])) == []
    )


@pytest.mark.parametrize(
    ("used", "rows"),
    [
        # by hand: four weeks of one ounce, of three a year; with less than one left there is none
        ("0", [([0, 1, 2, 3], 1.0, {1 / 3})]),
        ("1", [([0, 1, 2, 3], 1.0, {1 / 2})]),
        ("3", [([0, 1, 2, 3], 0.0, {1.0})]),
        ("4", [([0, 1, 2, 3], 0.0, {1.0})]),
    ],
)
def test_what_is_left_of_an_amount_a_year_is_shared_by_the_weeks(a_season, an_offer, used, rows):
    label = {"maximum_amount_per_year": Decimal(3), "amount_basis": "fl oz/gal"}
    soap = an_offer("Soap", changes=label)
    past = PastApplication(IN_SPRING, soap.product, Decimal(used))

    assert weighed_rows_of(total_rows, a_season(soap, history=[past])) == rows


@pytest.mark.parametrize(
    ("days", "amount", "left"),
    [
        # at 4 lb a gallon 3 pints bring 1.5 lb [PNW-NODE328]; the label allows 3.2 lb a year
        ([], None, "3.2"),
        ([IN_SPRING], None, "3.2"),
        ([LAST_YEAR], "3", "3.2"),
        ([IN_SPRING], "3", "1.7"),
        ([IN_SPRING, IN_SPRING, IN_SPRING], "3", "0"),
    ],
)
def test_what_is_left_of_an_active_ingredient_is_shared_by_the_weeks(
    a_season, an_offer, days, amount, left
):
    content = IngredientFacts(
        "active",
        pounds_per_gallon=Decimal(4),
        maximum_pounds_per_acre_per_year=Decimal("3.2"),
    )
    plain = an_offer("One", changes={"amount_basis": "pt/acre"}, amount_per_1000_sq_ft=Decimal(3))
    offer = replace(plain, product=replace(plain.product, ingredients=(content,)))
    past = [PastApplication(day, offer.product, amount and Decimal(amount)) for day in days]

    rows = weighed_rows_of(active_rows, a_season(offer, history=past))

    weight = float(Decimal("1.5") / Decimal(left)) if Decimal(left) else 1.0
    assert rows == [([0, 1, 2, 3], 1.0 if Decimal(left) else 0.0, {weight})]


def test_a_record_of_the_same_product_or_of_no_family_keeps_nothing_apart(a_season, an_offer):
    sulfur = an_offer("Sulfur", "UN", family="sulfur")
    past = [PastApplication(FIRST, each.product) for each in (sulfur, an_offer("Soap"))]

    assert rows_of(separation_rows, a_season(sulfur, history=past)) == []
