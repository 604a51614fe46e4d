"""Families that are kept days apart or out of one tank."""

from datetime import date, timedelta

import pytest

from treatments.rules.compatibility import check_separations
from treatments.rules.facts import IngredientFacts, PastApplication, SeparationClass
from treatments.rules.findings import Severity
from treatments.rules.table_files import read_json

FIRST = date(2026, 6, 1)


@pytest.fixture
def of_family(a_product):
    """Return a product of one family."""

    def build(family, **changes):
        ingredient = IngredientFacts(family, separation_class=SeparationClass(family))
        return a_product(f"Invented {family}", ingredients=(ingredient,), **changes)

    return build


@pytest.mark.parametrize(("days", "refused"), [(29, True), (30, False), (31, False)])
@pytest.mark.parametrize(("first", "second"), [("oil", "sulfur"), ("sulfur", "oil")])
def test_oil_and_sulfur_stand_thirty_days_apart(a_week, of_family, first, second, days, refused):
    # [OIL-LABEL-30] 30 days on most oil labels, before and after
    weeks = [
        a_week(1, FIRST, of_family(first)),
        a_week(2, FIRST + timedelta(days), of_family(second)),
    ]

    findings = check_separations(weeks)

    assert [(each.week, each.severity) for each in findings] == (
        [(2, Severity.REFUSAL)] if refused else []
    )


@pytest.mark.parametrize(("days", "refused"), [(11, True), (12, False)])
def test_oil_and_captan_stand_twelve_days_apart(a_week, of_family, days, refused):
    # [ONTARIO-OIL] ten to twelve days, the stricter
    weeks = [
        a_week(1, FIRST, of_family("captan")),
        a_week(2, FIRST + timedelta(days), of_family("oil")),
    ]

    assert bool(check_separations(weeks)) is refused


@pytest.mark.parametrize(("days", "refused"), [(13, True), (14, False)])
def test_a_label_of_its_own_lowers_the_days_but_not_under_two_weeks(
    a_week, of_family, days, refused
):
    # [UC-IPM-PN7493] within two weeks never
    oil = of_family("oil", separation_days=7)
    weeks = [a_week(1, FIRST, oil), a_week(2, FIRST + timedelta(days), of_family("sulfur"))]

    assert bool(check_separations(weeks)) is refused


def test_the_longer_of_two_labels_holds(a_week, of_family):
    weeks = [
        a_week(1, FIRST, of_family("oil", separation_days=14)),
        a_week(2, FIRST + timedelta(20), of_family("sulfur", separation_days=21)),
    ]

    (finding,) = check_separations(weeks)

    assert finding.say_remedy().startswith("Not before 2026-06-22")


def test_the_records_count_as_well(a_week, of_family):
    (finding,) = check_separations(
        [a_week(1, FIRST, of_family("oil"))],
        [PastApplication(FIRST - timedelta(10), of_family("sulfur"))],
    )

    assert finding.say().startswith("Invented oil (oil) on 2026-06-01")
    assert "10 days from Invented sulfur (sulfur)" in finding.say()


def test_of_several_the_nearest_is_told(a_week, of_family):
    oils = [a_week(1, FIRST, of_family("oil")), a_week(2, FIRST + timedelta(7), of_family("oil"))]
    sulfur = a_week(3, FIRST + timedelta(14), of_family("sulfur"))

    (finding,) = check_separations([*oils, sulfur])

    assert finding.facts["other_day"] == FIRST + timedelta(7)


def test_of_several_later_records_the_nearest_is_told(a_week, of_family):
    records = [PastApplication(FIRST + timedelta(days), of_family("oil")) for days in (5, 10)]

    (finding,) = check_separations([a_week(1, FIRST, of_family("sulfur"))], records)

    assert finding.facts["other_day"] == FIRST + timedelta(5)


def test_oil_between_two_sulfurs_is_told_from_both_sides(a_week, of_family):
    weeks = [
        a_week(1, FIRST, of_family("sulfur")),
        a_week(2, FIRST + timedelta(7), of_family("oil")),
        a_week(3, FIRST + timedelta(14), of_family("sulfur")),
    ]

    assert [finding.week for finding in check_separations(weeks)] == [2, 3]


@pytest.mark.parametrize("other", ["sulfur", "copper"])
def test_soap_does_not_share_a_tank_with(a_week, of_family, other):
    # common practice
    weeks = [a_week(1, FIRST, of_family("soap")), a_week(1, FIRST, of_family(other))]

    (finding,) = check_separations(weeks)

    assert (finding.severity, finding.source) == (Severity.WARNING, "common practice")


def test_what_one_product_holds_is_not_kept_out_of_its_own_tank(a_week, a_product):
    both = (
        IngredientFacts("soap", separation_class=SeparationClass.SOAP),
        IngredientFacts("sulfur", separation_class=SeparationClass.SULFUR),
    )

    assert check_separations([a_week(product=a_product(ingredients=both))]) == []


def test_soap_and_sulfur_on_different_days_are_fine(a_week, of_family):
    weeks = [
        a_week(1, FIRST, of_family("soap")),
        a_week(2, FIRST + timedelta(7), of_family("sulfur")),
    ]

    assert check_separations(weeks) == []


def test_the_table_of_ingredients_asks_for_the_same_days():
    # [OIL-LABEL-30] [ONTARIO-OIL] as compiled for each ingredient
    oil = next(row for row in read_json("actives") if "horticultural oil" in row["common_name"])

    assert {each["against"]: each["days"] for each in oil["separations"]} == {
        "sulfur": 30,
        "captan": 12,
        "chlorothalonil": 12,
    }
