"""Respirators by their parts."""

import pytest

from treatments.rules.facts import IngredientFacts, RespiratorNeed, SeparationClass
from treatments.rules.respirators import (
    describe_approval,
    describe_respirator,
    respirator_needed,
)

VAPOUR = RespiratorNeed(needs_organic_vapour=True)
PARTICLES = RespiratorNeed(needs_particulate=True)
BOTH = RespiratorNeed(needs_organic_vapour=True, needs_particulate=True)


def test_several_products_take_the_union(a_product):
    products = [a_product(respirator=VAPOUR), a_product("Two", respirator=PARTICLES)]

    need = respirator_needed(products)

    assert (need.needs_organic_vapour, need.needs_particulate) == (True, True)


def test_only_filters_that_every_label_allows_are_left(a_product):
    strict = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"R", "P"}))
    products = [a_product(respirator=PARTICLES), a_product("Two", respirator=strict)]

    assert respirator_needed(products).filter_classes == {"R", "P"}


def test_oil_takes_class_n_away(a_product):
    # [UMAINE-RPD] N not resistant to oil, R somewhat, P oil proof
    oil = a_product(
        respirator=PARTICLES,
        ingredients=(IngredientFacts("oil", separation_class=SeparationClass.OIL),),
    )

    need = respirator_needed([oil])

    assert need.filter_classes == {"R", "P", "HE"}


def test_labels_that_no_filter_satisfies_are_told(a_product, codes):
    only_n = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"N"}))
    only_p = RespiratorNeed(needs_particulate=True, filter_classes=frozenset({"P"}))
    need = respirator_needed([a_product(respirator=only_n), a_product(respirator=only_p)])

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
@pytest.mark.parametrize("typed", ["{}", "half mask, M, {}-0000", "Full face {}-0000 of 2026"])
def test_each_prefix_sends_back_to_the_parts(prefix, typed):
    # [UMAINE-RPD] the prefixes of NIOSH
    (note,) = describe_approval(typed.format(prefix).lower())

    assert note.say().startswith(f"{prefix} covers: ")
    assert note.say().endswith("Look at the parts, not at the prefix.")


@pytest.mark.parametrize("typed", ["", "half mask", "TC-99Z-0000", "TC-84", "ETC-84A"])
def test_an_approval_that_is_not_known_is_left_as_it_is(typed):
    assert describe_approval(typed) == []
