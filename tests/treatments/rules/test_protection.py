"""What a crew wears: all that the labels ask for, never less."""

import pytest

from treatments.rules.facts import RespiratorNeed, SignalWord
from treatments.rules.findings import Severity
from treatments.rules.protection import (
    ITEMS,
    ProtectionUnknown,
    check_protection,
    protection_by_category,
    protection_needed,
)


def codes_worn(*products):
    return [item.code for item in protection_needed(products)]


def test_the_baseline_is_always_worn(a_product):
    # [EPA-LRT-PPE] long sleeves, long trousers, shoes and socks for every occupational product
    assert codes_worn(a_product()) == ["long-sleeves-and-trousers", "shoes-and-socks"]


def test_several_products_take_the_union(a_product):
    worn = codes_worn(
        a_product(protective_equipment=("chemical-resistant-gloves",)),
        a_product("Two", protective_equipment=("goggles", "chemical-resistant-footwear")),
    )

    assert worn == [
        "long-sleeves-and-trousers",
        "chemical-resistant-footwear",
        "chemical-resistant-gloves",
        "goggles",
    ]


def test_the_more_protective_coverall_stays(a_product):
    worn = codes_worn(
        a_product(protective_equipment=("coveralls-over-short-sleeves",)),
        a_product("Two", protective_equipment=("coveralls-over-long-sleeves",)),
    )

    assert "coveralls-over-long-sleeves" in worn
    assert "coveralls-over-short-sleeves" not in worn


def test_any_coverall_takes_the_place_of_the_baseline(a_product):
    # common practice: what a label asks for at a place replaces what is worn there anyway
    worn = codes_worn(a_product(protective_equipment=("coveralls-over-short-sleeves",)))

    assert worn == ["coveralls-over-short-sleeves", "shoes-and-socks"]


@pytest.mark.parametrize("code", ITEMS)
def test_no_place_of_a_label_is_ever_left_bare(a_product, code):
    worn = protection_needed([a_product(protective_equipment=(code,))])

    assert any(i.place == ITEMS[code].place and i.rank >= ITEMS[code].rank for i in worn)


def test_a_respirator_of_the_label_is_in_the_list(a_product):
    product = a_product(respirator=RespiratorNeed(needs_particulate=True))

    assert codes_worn(product)[-1] == "respirator"


def test_an_unknown_code_is_refused(a_product):
    with pytest.raises(ProtectionUnknown, match="mittens"):
        protection_needed([a_product(protective_equipment=("mittens",))])


@pytest.mark.parametrize(
    ("category", "gloves", "respirator"),
    [("I", True, True), ("II", True, True), ("III", True, False), ("IV", False, False)],
)
def test_gloves_and_respirators_follow_the_category(category, gloves, respirator):
    # [EPA-LRT-PPE] gloves for I to III, a respirator for I and II
    codes = protection_by_category(category, category, category)

    assert ("chemical-resistant-gloves" in codes) is gloves
    assert ("respirator" in codes) is respirator


# [40CFR156-212] 156.212(e): gloves and respirators read in [EPA-LRT-PPE], the rest from memory
BODY = {
    "I": {"coveralls-over-long-sleeves", "chemical-resistant-footwear"},
    "II": {"coveralls-over-short-sleeves", "chemical-resistant-footwear"},
    "III": {"long-sleeves-and-trousers", "shoes-and-socks"},
    "IV": {"long-sleeves-and-trousers", "shoes-and-socks"},
}


@pytest.mark.parametrize("category", BODY)
def test_each_route_asks_for_its_own_equipment_by_its_category(category):
    gloves = {"chemical-resistant-gloves"} if category != "IV" else set()
    strong = category in ("I", "II")
    mildest = protection_by_category("IV", "IV", "IV")

    by_skin = protection_by_category(category, "IV", "IV")
    by_eye = protection_by_category("IV", category, "IV")
    by_breath = protection_by_category("IV", "IV", category)

    assert by_skin >= BODY[category] | gloves
    assert ("chemical-resistant-gloves" in by_skin) is bool(gloves)
    assert by_eye - mildest == ({"protective-eyewear"} if strong else set())
    assert by_breath - mildest == ({"respirator"} if strong else set())


@pytest.mark.parametrize("word", [SignalWord.DANGER, SignalWord.WARNING])
def test_a_strong_word_with_a_bare_list_is_only_noted(a_product, word):
    # [40CFR156-64] [40CFR156-212] category I or II by some route
    (finding,) = check_protection(a_product(signal_word=word))

    assert finding.severity is Severity.NOTE


def test_gloves_or_a_mild_word_raise_no_note(a_product):
    gloved = a_product(
        signal_word=SignalWord.DANGER, protective_equipment=("chemical-resistant-gloves",)
    )

    assert check_protection(gloved) == check_protection(a_product()) == []
