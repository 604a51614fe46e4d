"""Which active ingredients are known to hold which pests."""

import pytest

from treatments.rules.table_files import read_json
from treatments.rules.targets import holds, may_hold

MITE = "two-spotted spider mite"


# [IRAC] calls groups 10 mite growth inhibitors; 4A are not used against mites.
@pytest.mark.parametrize("active", ["hexythiazox", "clofentezine", "etoxazole"])
def test_growth_inhibitors_of_group_ten_hold_mites(active):
    assert holds(active, MITE, is_mite=True)


@pytest.mark.parametrize("active", ["imidacloprid", "permethrin", "bifenthrin", "captan"])
def test_what_mites_increase_after_or_never_mind_holds_none(active):
    assert holds(active, MITE, is_mite=True) is False


@pytest.mark.parametrize("pest", [MITE, "southern red mite", "boxwood mite"])
def test_what_spider_mites_increase_after_holds_no_mite_whatever_its_name(pest):
    # southern red mite and boxwood mite are spider mites (Tetranychidae) as well; from memory
    assert holds("bifenthrin", pest, is_mite=True) is False


def test_a_mite_without_spider_in_its_name_goes_by_what_is_told_to_hold_mites():
    assert holds("hexythiazox", "southern red mite", is_mite=True)
    assert holds("acephate", "southern red mite", is_mite=True) is False


def test_an_insecticide_may_hold_one_insect_and_not_another():
    assert holds("imidacloprid", "azalea lace bug")
    assert holds("hexythiazox", "azalea lace bug") is False


def test_a_stage_of_a_kind_counts_for_the_kind():
    assert holds("malathion", "euonymus scale")


def test_nothing_is_said_of_an_ingredient_that_is_not_in_the_table():
    assert holds("an unknown one", MITE, is_mite=True) is None


def test_one_ingredient_that_holds_is_enough():
    assert may_hold(["captan", "bifenazate"], MITE, is_mite=True)
    assert not may_hold(["captan", "permethrin"], MITE, is_mite=True)


def test_every_activity_of_the_table_is_understood():
    known = ("controls", "suppression", "weak", "none", "flares", "dormant", "side effect")

    assert all(row["spider_mite_activity"].startswith(known) for row in read_json("actives"))
