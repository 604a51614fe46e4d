"""Every row of the table of actives, through the rules that go by it.

The name of each test carries the group and how it came to be known; the sources of a row stand in
the table, and SOURCES.md lists them.
"""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.compatibility import check_separations
from treatments.rules.facts import (
    IngredientFacts,
    PlannedApplication,
    ProductFacts,
    SeparationClass,
)
from treatments.rules.population import kill_of
from treatments.rules.resistance import modes_of_action
from treatments.rules.table_files import read_json
from treatments.rules.targets import may_hold

ACTIVES = read_json("actives")
MARKS = {"read", "memory", "common practice"}
FIRST = date(2026, 5, 4)
# [IRAC] [FRAC]: the number counts, the subgroup does not; physical and multi-site ones never count
COUNTED = {
    "1B": "1",
    "3A": "3",
    "4A": "4",
    "5": "5",
    "6": "6",
    "10A": "10",
    "10B": "10",
    "20B": "20",
    "20D": "20",
    "21A": "21",
    "23": "23",
}


def named(row):
    group = row["irac_group"] or f"FRAC {row['frac_group']}"
    return f"{row['common_name']} {group} {row['provenance']['irac_group']}"


def product_of(row, family=SeparationClass.NONE):
    ingredient = IngredientFacts(
        row["common_name"],
        irac_group=row["irac_group"] or "",
        frac_group=row["frac_group"] or "",
        separation_class=family,
    )
    return ProductFacts(row["common_name"], "", (ingredient,), ())


@pytest.mark.parametrize("row", ACTIVES, ids=named)
def test_each_mark_and_source_is_named(row):
    assert row["source"]
    assert set(row["provenance"].values()) <= MARKS


@pytest.mark.parametrize("row", [row for row in ACTIVES if row["irac_group"] in COUNTED], ids=named)
def test_a_group_counts_by_its_number(row):
    assert COUNTED[row["irac_group"]] in modes_of_action(product_of(row))


@pytest.mark.parametrize(
    "row", [row for row in ACTIVES if row["irac_group"] not in COUNTED], ids=named
)
def test_the_others_count_as_their_own_kind_or_never(row):
    groups = set(modes_of_action(product_of(row)))

    assert not groups & set(COUNTED.values())
    if row["irac_group"] in ("UNM", "UNE") or str(row["frac_group"]).startswith("M"):
        assert not {group for group in groups if group.startswith("FRAC")}


@pytest.mark.parametrize("row", [row for row in ACTIVES if row.get("preview")], ids=named)
def test_the_kill_is_that_of_the_table(row):
    kill, told = kill_of(row["common_name"]), row["preview"]

    assert dict(zip(("egg", "larva", "nymph", "adult"), kill.stages, strict=True)) == told["kill"]
    assert kill.residual_days == told["residual_days"]
    assert kill.half_life_days == told["residual_half_life_days"]


@pytest.mark.parametrize("row", [row for row in ACTIVES if not row.get("preview")], ids=named)
def test_what_is_not_for_mites_has_no_kill(row):
    assert kill_of(row["common_name"]) is None


@pytest.mark.parametrize("row", [row for row in ACTIVES if row["separations"]], ids=named)
@pytest.mark.parametrize("oil_first", [True, False], ids=["oil first", "oil second"])
def test_oil_and_its_opposites_are_kept_apart_both_ways(row, oil_first):
    # [OIL-LABEL-30] 30 days from sulfur; [ONTARIO-OIL] 12 from captan and chlorothalonil
    days = max(each["days"] for each in row["separations"])
    mine, other = family_of(row), opposite_of(row)
    pair = [product_of(row, mine), product_of({**row, "common_name": "the other"}, other)]
    pair = pair if oil_first else pair[::-1]

    assert kept_apart(pair, days - 1)
    assert not kept_apart(pair, days)


def family_of(row):
    if row["sulfur_oil_group"]:
        return SeparationClass(row["sulfur_oil_group"])
    return SeparationClass.CAPTAN


def opposite_of(row):
    return SeparationClass.SULFUR if row["sulfur_oil_group"] == "oil" else SeparationClass.OIL


def kept_apart(pair, days):
    first, second = (
        PlannedApplication(week, day, product, "mite", Decimal(1), "fl oz/gal")
        for week, day, product in zip(
            (1, 2), (FIRST, date.fromordinal(FIRST.toordinal() + days)), pair, strict=True
        )
    )
    return [each for each in check_separations([first, second]) if each.code == "kept-apart"]


@pytest.mark.parametrize("row", ACTIVES, ids=named)
def test_a_target_of_the_table_may_be_held(row):
    insects = {"aphids", "lace bugs", "whiteflies", "mealybugs", "thrips"} & set(row["targets"])

    assert all(may_hold([row["common_name"]], insect.removesuffix("s")) for insect in insects)


def test_every_row_is_tried():
    assert len(ACTIVES) == 25
    assert len({row["common_name"] for row in ACTIVES}) == 25
