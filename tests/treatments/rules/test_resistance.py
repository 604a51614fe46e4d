"""Modes of action that must not follow themselves."""

from datetime import date, timedelta

import pytest

from treatments.rules.facts import IngredientFacts, PastApplication
from treatments.rules.resistance import (
    check_resistance,
    counted_group,
    group_counts,
    modes_of_action,
)
from treatments.rules.table_files import read_json

FIRST = date(2026, 6, 1)
ACTIVES = {row["common_name"]: row for row in read_json("actives")}


@pytest.fixture
def rotation(a_week, a_product, acting_by):
    """Return weekly applications, each by the IRAC groups named for it."""

    def build(*weeks, days=7):
        return [
            a_week(
                index + 1,
                FIRST + timedelta(days * index),
                a_product(f"Product {index + 1}", ingredients=acting_by(*groups)),
            )
            for index, groups in enumerate(weeks)
        ]

    return build


@pytest.mark.parametrize(
    ("active", "group"),
    [
        # [IRAC] each of these was read in a table of the University of California or after one
        ("spinosad", "5"),
        ("permethrin", "3A"),
        ("bifenthrin", "3A"),
        ("acephate", "1B"),
        ("imidacloprid", "4A"),
        ("abamectin", "6"),
        ("bifenazate", "20D"),
        ("hexythiazox", "10A"),
        ("clofentezine", "10A"),
        ("etoxazole", "10B"),
        ("fenpyroximate", "21A"),
        ("acequinocyl", "20B"),
    ],
)
def test_the_groups_that_were_read_are_marked_so(active, group):
    assert ACTIVES[active]["irac_group"] == group
    assert ACTIVES[active]["provenance"]["irac_group"] == "read"


@pytest.mark.parametrize(
    ("active", "group"),
    [
        # from memory, and marked so
        ("malathion", "1B"),
        ("pyrethrins", "3A"),
        ("spiromesifen", "23"),
        ("azadirachtin", "UN"),
        ("sulfur", "UN"),
        ("horticultural oil (mineral oil)", "UNM"),
        ("neem oil (clarified hydrophobic extract)", "UNE"),
    ],
)
def test_the_groups_from_memory_are_marked_so(active, group):
    assert ACTIVES[active]["irac_group"] == group
    assert ACTIVES[active]["provenance"]["irac_group"] == "memory"


@pytest.mark.parametrize(
    ("code", "group"),
    [("10A", "10"), ("10B", "10"), ("6", "6"), ("UNM", ""), ("UNE", ""), ("", "")],
)
def test_the_number_counts_and_physical_action_does_not(code, group):
    assert counted_group(code) == group


def test_materials_of_unknown_action_are_groups_of_their_own():
    assert counted_group("UN", "sulfur") != counted_group("UN", "azadirachtin")


def test_successive_weeks_of_one_group_are_warned_of(rotation):
    # [IRAC-MOA] successive generations are not treated with one group
    (finding,) = check_resistance(rotation(["6"], ["6"], ["20D"]))

    assert (finding.code, finding.week) == ("group-repeated", 2)
    assert "group 6 again" in finding.say()


@pytest.mark.parametrize(("first", "second"), [("10A", "10B"), ("20B", "20D")])
def test_subgroups_are_one_group_and_both_are_told(rotation, first, second):
    # [IRAC] 10A hexythiazox and 10B etoxazole, 20B acequinocyl and 20D bifenazate
    (finding,) = check_resistance(rotation([first], [second]))

    assert f"({first})" in finding.say()
    assert f"({second})" in finding.say()


def test_an_alternation_is_what_is_asked_for(rotation):
    assert check_resistance(rotation(["6"], ["20D"], ["10A"], ["23"])) == []


def test_a_mixture_counts_in_both_groups(rotation, codes):
    findings = check_resistance(rotation(["6", "20D"], ["20B"], ["6"]))

    assert codes(findings) == ["group-repeated"]
    assert findings[0].facts["group"] == "20"


@pytest.mark.parametrize("code", ["UNM", "UNE", ""])
def test_soap_and_oil_may_follow_themselves(rotation, code):
    assert check_resistance(rotation(*[[code]] * 4)) == []


def test_the_last_record_is_a_neighbour(rotation, a_product, acting_by, codes):
    past = a_product("Past", ingredients=acting_by("6"))

    assert codes(
        check_resistance(rotation(["6"]), [PastApplication(FIRST - timedelta(7), past)])
    ) == ["group-repeated"]
    assert check_resistance(rotation(["6"]), [PastApplication(FIRST - timedelta(60), past)]) == []


@pytest.mark.parametrize(("days", "warned"), [(28, True), (29, False)])
def test_four_weeks_part_neighbours(rotation, days, warned):
    # common practice
    assert bool(check_resistance(rotation(["6"], ["6"], days=days))) is warned


def test_what_was_applied_before_is_not_warned_of(a_product, acting_by):
    product = a_product("Past", ingredients=acting_by("6"))
    history = [PastApplication(FIRST + timedelta(7 * week), product) for week in range(4)]

    assert check_resistance([], history, generation_days=30) == []


@pytest.mark.parametrize(("generation", "warned"), [(7, False), (8, True)])
def test_adjoining_generations_are_not_met_by_one_group(rotation, generation, warned):
    # [IRAC-MOA] 14 days apart lie in adjoining generations when one takes more than seven
    findings = check_resistance(rotation(["6"], ["20D"], ["6"]), generation_days=generation)

    assert bool(findings) is warned


def test_the_third_use_in_a_season_is_warned_of_with_the_records(rotation, a_product, acting_by):
    # common practice: no more than two
    past = PastApplication(date(2026, 4, 1), a_product("Past", ingredients=acting_by("6")))

    (finding,) = check_resistance(rotation(["6"], ["20D"], ["6"]), [past])

    assert (finding.code, finding.week, finding.facts["count"]) == ("group-too-often", 3, 3)


def test_two_products_on_one_day_are_one_use(a_week, a_product, acting_by):
    weeks = [a_week(1, FIRST, a_product(name, ingredients=acting_by("6"))) for name in "AB"]

    assert check_resistance(weeks, generation_days=10) == []
    assert group_counts(weeks, 2026) == {"6": 1}


def test_fungicides_count_by_their_frac_code(a_product):
    # [FRAC] 29 fluazinam; M multi-site and NC do not count; no number meets an insecticide's
    def fungicide(code):
        return a_product(ingredients=(IngredientFacts("a fungicide", frac_group=code),))

    assert modes_of_action(fungicide("29")) == {"FRAC 29": "FRAC 29"}
    assert modes_of_action(fungicide("M02")) == modes_of_action(fungicide("NC")) == {}
