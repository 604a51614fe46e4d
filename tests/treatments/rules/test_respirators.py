"""Respirators by their parts."""

import pytest

from treatments.rules.facts import IngredientFacts, RespiratorNeed, SeparationClass
from treatments.rules.respirators import (
    Respirator,
    check_respirator,
    describe_prefix,
    describe_respirator,
    respirator_needed,
)

VAPOUR = RespiratorNeed(needs_organic_vapour=True)
PARTICLES = RespiratorNeed(needs_particulate=True)
BOTH = RespiratorNeed(needs_organic_vapour=True, needs_particulate=True)
N95 = Respirator(filter_class="N", approval_prefix="TC-84A")
P100 = Respirator(filter_class="P", approval_prefix="TC-84A")
CARTRIDGE = Respirator(organic_vapour=True, approval_prefix="TC-23C")
CARTRIDGE_AND_P100 = Respirator(organic_vapour=True, filter_class="P", approval_prefix="TC-84A")


@pytest.mark.parametrize(
    ("need", "worn", "passes"),
    [
        # [UMAINE-RPD] a particulate facepiece stops no vapour
        (VAPOUR, N95, False),
        (VAPOUR, P100, False),
        (VAPOUR, CARTRIDGE, True),
        # [PRN-98-9] cartridge with prefilter: both parts, whatever the prefix of the approval
        (BOTH, N95, False),
        (BOTH, CARTRIDGE, False),
        (BOTH, CARTRIDGE_AND_P100, True),
        # [PRN-98-9] any N, R, P or HE filter
        (PARTICLES, N95, True),
        (PARTICLES, P100, True),
        (PARTICLES, Respirator(filter_class="HE", approval_prefix="TC-21C"), True),
        (PARTICLES, CARTRIDGE, False),
        (BOTH, Respirator(supplied_air=True, approval_prefix="TC-19C"), True),
        (RespiratorNeed(needs_supplied_air=True), CARTRIDGE_AND_P100, False),
        (RespiratorNeed(), Respirator(), True),
    ],
)
def test_a_respirator_passes_by_its_parts(need, worn, passes):
    assert (check_respirator(need, worn) == []) is passes


def test_the_prefix_of_the_approval_changes_nothing():
    # [PRN-98-9] what was TC-23C with a prefilter is now approved as TC-84A
    older = Respirator(organic_vapour=True, filter_class="R", approval_prefix="TC-23C")
    newer = Respirator(organic_vapour=True, filter_class="R", approval_prefix="TC-84A")

    assert check_respirator(BOTH, older) == check_respirator(BOTH, newer) == []


def test_several_products_take_the_union(a_product):
    products = [a_product(respirator=VAPOUR), a_product("Two", respirator=PARTICLES)]

    need = respirator_needed(products)

    assert (need.needs_organic_vapour, need.needs_particulate) == (True, True)


def test_only_filters_that_every_label_allows_are_left(a_product):
    strict = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"R", "P"}))
    products = [a_product(respirator=PARTICLES), a_product("Two", respirator=strict)]

    assert respirator_needed(products).filter_classes == {"R", "P"}


def test_oil_takes_class_n_away(a_product, codes):
    # [UMAINE-RPD] N not resistant to oil, R somewhat, P oil proof
    oil = a_product(
        respirator=PARTICLES,
        ingredients=(IngredientFacts("oil", separation_class=SeparationClass.OIL),),
    )

    need = respirator_needed([oil])

    assert codes(check_respirator(need, N95)) == ["wrong-filter-class"]
    assert check_respirator(need, P100) == []


def test_labels_that_no_filter_satisfies_are_told(a_product, codes):
    only_n = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"N"}))
    only_p = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"P"}))
    need = respirator_needed([a_product(respirator=only_n), a_product(respirator=only_p)])

    assert codes(check_respirator(need, P100)) == codes(describe_respirator(need))
    assert codes(describe_respirator(need)) == ["no-filter-suits"]


def test_the_crew_reads_what_to_wear():
    (finding,) = describe_respirator(BOTH)

    assert "organic-vapor cartridge together with a particulate filter" in finding.say()
    assert describe_respirator(RespiratorNeed()) == []


@pytest.mark.parametrize(
    ("need", "vapour", "particles"),
    [(VAPOUR, True, False), (PARTICLES, False, True), (BOTH, True, True)],
)
def test_the_crew_reads_of_each_part_that_is_asked_for_and_of_no_other(need, vapour, particles):
    # [PRN-98-9] the parts are named one by one
    (finding,) = describe_respirator(need)

    told = finding.say().casefold()
    assert ("vapor" in told, "particulate" in told) == (vapour, particles)


@pytest.mark.parametrize("prefix", ["TC-84A", "TC-23C", "TC-14G", "TC-21C", "TC-19C", "TC-13F"])
def test_each_prefix_sends_back_to_the_parts(prefix):
    # [UMAINE-RPD] the prefixes of NIOSH
    assert "Look at the parts" in describe_prefix(prefix)[0].say()
