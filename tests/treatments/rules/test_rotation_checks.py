"""A whole rotation at once."""

from datetime import date, timedelta
from decimal import Decimal
from time import perf_counter

import pytest

from treatments.rules.facts import (
    CertificateFacts,
    IngredientFacts,
    LotFacts,
    PastApplication,
    SeparationClass,
)
from treatments.rules.findings import Finding, Severity, refuses
from treatments.rules.rotation_checks import by_week, check_rotation, in_order

FIRST = date(2026, 6, 1)


@pytest.fixture
def six_weeks(a_week, a_product, acting_by):
    """Return six weeks of three products that work differently, twice in turn."""
    products = [
        a_product(f"Product {group}", ingredients=acting_by(group), minimum_interval_days=14)
        for group in ["6", "20D", "10A"]
    ]
    return [
        a_week(n + 1, FIRST + timedelta(7 * n), products[n % 3], amount=Decimal(4))
        for n in range(6)
    ]


def test_a_good_rotation_raises_nothing(six_weeks, a_planting):
    # [IRAC-MOA] three groups in turn
    assert check_rotation(six_weeks, planting=a_planting()) == []


def test_each_finding_has_its_week(a_week, a_product, a_planting):
    weeks = [
        a_week(1, FIRST, a_product("One"), rate=Decimal(3)),
        a_week(2, FIRST + timedelta(7), a_product("Two"), rate=Decimal("0.5")),
    ]

    found = by_week(check_rotation(weeks, planting=a_planting()))

    assert [each.code for each in found[1]] == ["rate-above-label"]
    assert [each.code for each in found[2]] == ["rate-below-label"]


def test_where_the_place_is_not_known_no_certificate_is_asked_for(six_weeks, a_planting):
    planting = a_planting(jurisdiction="")

    assert check_rotation(six_weeks, planting=planting, certificates=[]) == []
    assert check_rotation(six_weeks, certificates=[]) == []


def test_what_is_of_no_week_stands_first():
    of_a_week = Finding("of-a-week", Severity.REFUSAL, "x", week=1)
    of_none = Finding("of-none", Severity.NOTE, "x")

    assert in_order([of_a_week, of_none]) == [of_none, of_a_week]


def test_without_a_planting_only_what_needs_none_is_checked(a_week, a_product):
    sulfur = IngredientFacts("sulfur", separation_class=SeparationClass.SULFUR)
    oil = IngredientFacts("oil", separation_class=SeparationClass.OIL)
    weeks = [
        a_week(1, FIRST, a_product("Sulfur", ingredients=(sulfur,), rates=())),
        a_week(2, FIRST + timedelta(7), a_product("Oil", ingredients=(oil,), rates=())),
    ]

    (finding,) = check_rotation(weeks)

    assert (finding.code, finding.week) == ("kept-apart", 2)  # [OIL-LABEL-30]


def test_history_store_and_certificates_are_looked_at(six_weeks, a_planting):
    findings = check_rotation(
        six_weeks,
        planting=a_planting(jurisdiction="US-PA"),
        history=[PastApplication(FIRST - timedelta(7), six_weeks[0].product)],
        lots=[LotFacts("Product 6", "A", Decimal(4), None)],
        certificates=[],
        today=FIRST,
    )

    codes = {each.code for each in findings}
    assert {"interval-too-short", "group-repeated", "stock-short", "no-certificate"} <= codes


def test_a_certificate_that_lapses_during_the_rotation_refuses_its_last_weeks(
    six_weeks, a_planting
):
    held = CertificateFacts("R. Vole", "US-PA", frozenset(), FIRST + timedelta(21))

    findings = check_rotation(
        six_weeks, planting=a_planting(jurisdiction="US-PA"), certificates=[held], today=FIRST
    )

    assert [each.week for each in findings if each.code == "certificate-expired"] == [5, 6]
    assert [each.week for each in findings if each.code == "certificate-lapsing"] == [None]


def test_an_organic_planting_refuses_what_is_not_listed(six_weeks, a_planting):
    # as written in [7CFR205-601]
    findings = check_rotation(six_weeks, planting=a_planting(organic_only=True))

    assert refuses(findings)
    assert {each.week for each in findings if each.code == "not-organic"} == {1, 2, 3, 4, 5, 6}


def test_every_finding_says_what_it_means_and_where_it_stands(six_weeks, a_planting):
    planting = a_planting(plant_group="lawn", edible=True, jurisdiction="US-PA", organic_only=True)

    findings = check_rotation(six_weeks, planting=planting, lots=[], certificates=[])

    assert findings
    assert all(each.say() and each.source for each in findings)
    assert all(each.say_remedy() for each in findings if each.severity is not Severity.NOTE)


def test_the_gravest_of_a_week_stands_first(six_weeks, a_planting):
    planting = a_planting(plant_group="lawn", edible=True)

    first_week = by_week(check_rotation(six_weeks, planting=planting))[1]

    assert first_week[0].severity is Severity.REFUSAL


def test_five_hundred_visits_take_well_under_a_second(a_week, a_product, acting_by, a_planting):
    products = [a_product(f"P{n}", ingredients=acting_by(str(n))) for n in range(1, 13)]
    weeks = [
        a_week(n + 1, FIRST + timedelta(n), products[n % 12], amount=Decimal(1)) for n in range(500)
    ]
    started = perf_counter()

    check_rotation(weeks, planting=a_planting(jurisdiction="US-PA"), lots=[], certificates=[])

    assert perf_counter() - started < 0.5
