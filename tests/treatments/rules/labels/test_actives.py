"""Pounds of an active ingredient an acre, counted over the products that hold it.

Pounds by strength: Pacific Northwest Insect Management Handbook [PNW-NODE328]; 43,560 sq ft an acre
and 128 fl oz a gallon: NIST Handbook 44.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.facts import IngredientFacts, PastApplication
from treatments.rules.findings import Severity
from treatments.rules.labels import check_actives
from treatments.rules.labels.actives import pounds_per_acre

JUNE_8 = date(2026, 6, 8)


def held(limit=None, **told):
    strength = {"percent_by_weight": Decimal(80), "pounds_per_gallon": Decimal(4), **told}
    most = None if limit is None else Decimal(limit)
    return (IngredientFacts("active", maximum_pounds_per_acre_per_year=most, **strength),)


@pytest.mark.parametrize(
    ("amount", "basis", "pounds"),
    [
        ("3", "pt/acre", "1.5"),  # 3 pt at 4 lb a gallon hold 1.5 lb [PNW-NODE328]
        ("2.5", "lb/acre", "2"),  # 2.5 lb at 80 % hold 2 lb [PNW-NODE328]
        ("1", "fl oz/1000 ft2", "1.36125"),  # 43.56 fl oz an acre / 128 x 4
        ("1", "oz/1000 ft2", "2.178"),  # 43.56 oz / 16 x 0.8
    ],
)
def test_pounds_an_acre_follow_from_amount_and_strength(a_week, a_product, amount, basis, pounds):
    product = a_product(ingredients=held(), amount_basis=basis)
    week = a_week(1, JUNE_8, product, amount_per_1000_sq_ft=Decimal(amount))

    assert pounds_per_acre(week, "active") == Decimal(pounds)
    assert pounds_per_acre(week, "another") == 0


def weeks_of(a_week, *products):
    return [
        a_week(number, JUNE_8 + timedelta(7 * number), product, amount_per_1000_sq_ft=Decimal(3))
        for number, product in enumerate(products, 1)
    ]


def test_products_with_one_ingredient_count_together(a_week, a_product):
    one = a_product("One", ingredients=held("2.5"), amount_basis="pt/acre")
    two = a_product("Two", ingredients=held(), amount_basis="pt/acre")

    (finding,) = check_actives(weeks_of(a_week, one, two))

    assert (finding.code, finding.severity, finding.week) == (
        "active-above-label",
        Severity.REFUSAL,
        2,
    )
    assert "comes to 3 lb an acre in 2026" in finding.say()


@pytest.mark.parametrize(("limit", "refused"), [("2.9999", True), ("3", False)])
def test_what_a_label_allows_may_be_used_up(a_week, a_product, limit, refused):
    # 3 pt at 4 lb a gallon hold 1.5 lb [PNW-NODE328]; twice that is 3 lb
    product = a_product(ingredients=held(limit), amount_basis="pt/acre")

    assert bool(check_actives(weeks_of(a_week, product, product))) is refused


def test_the_least_limit_of_all_labels_counts(a_week, a_product):
    one = a_product("One", ingredients=held("9"), amount_basis="pt/acre")
    two = a_product("Two", ingredients=held("1.4"), amount_basis="pt/acre")

    assert [each.week for each in check_actives(weeks_of(a_week, one, two))] == [1, 2]


def test_what_the_records_show_counts_and_the_next_year_begins_anew(a_week, a_product):
    product = a_product(ingredients=held("2"), amount_basis="pt/acre")
    week = a_week(1, JUNE_8, product, amount_per_1000_sq_ft=Decimal(3))
    past = [PastApplication(date(2026, 5, 1), product, Decimal(3))]
    year_before = [PastApplication(date(2025, 5, 1), product, Decimal(3))]

    assert [each.code for each in check_actives([week], past)] == ["active-above-label"]
    assert check_actives([week], year_before) == []


def test_an_unknown_strength_is_said_and_never_taken_as_none(a_week, a_product):
    product = a_product(ingredients=held("2", pounds_per_gallon=None), amount_basis="pt/acre")

    (finding,) = check_actives([a_week(1, JUNE_8, product, amount_per_1000_sq_ft=Decimal(3))])

    assert (finding.code, finding.severity) == ("active-unknown", Severity.WARNING)


def test_a_label_that_is_silent_limits_nothing(a_week, a_product):
    assert check_actives(weeks_of(a_week, *[a_product(ingredients=held())] * 3)) == []
