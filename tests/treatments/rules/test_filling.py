"""The order of filling a tank, and its steps."""

from decimal import Decimal

import pytest

from treatments.rules.filling import (
    Ingredient,
    NoPlaceInTank,
    Role,
    Step,
    filling_order,
    filling_steps,
    rank_of,
    rinse_water_gallons,
    rinsing_steps,
)
from treatments.rules.table_files import read_toml
from treatments.rules.units import Measure, Unit

SIX_OUNCES = Measure(Decimal(6), Unit.FLUID_OUNCE)


def ingredient(formulation, **changes):
    return Ingredient(f"product {formulation}", formulation, SIX_OUNCES, **changes)


def order(*formulations):
    return [each.formulation for each in filling_order(map(ingredient, formulations))]


def said(*ingredients, has_agitator=True):
    steps = filling_steps(
        gallons=4, water_gallons=Decimal("3.9"), ingredients=ingredients, has_agitator=has_agitator
    )
    return [step.say() for step in steps]


def test_the_tank_is_filled_as_the_trade_spells_it():
    # [WALES-PATROL] wettable powders and granules, flowables, emulsifiables, then the rest
    assert order("surfactant", "EC", "SL", "SC", "WG") == ["WG", "SC", "EC", "SL", "surfactant"]


def test_packets_go_in_first_and_alone():
    # [MANITOBA-MIXING] soluble bags first after the water
    assert order("WP", "WP-SB") == ["WP-SB", "WP"]
    for code in ("WP-SB", "SB"):
        steps = said(ingredient(code))
        assert any("until they have dissolved" in sentence for sentence in steps)


def test_conditioner_precedes_and_drift_agent_ends():
    # [SDSU-MIXING] conditioner before the products
    assert order(Role.DRIFT_AGENT, "WP", Role.WATER_CONDITIONER) == [
        Role.WATER_CONDITIONER,
        "WP",
        Role.DRIFT_AGENT,
    ]


def test_the_label_overrules_the_table():
    early = ingredient("SL", mixing_rank=1)

    assert filling_order([ingredient("WP"), early])[0] is early


def test_equals_keep_their_order():
    assert order("EW", "EC", "ME") == ["EW", "EC", "ME"]


@pytest.mark.parametrize("formulation", ["GR", "AE", "RB", "nonsense"])
def test_what_is_not_mixed_with_water_has_no_place(formulation):
    with pytest.raises(NoPlaceInTank, match="label's instructions"):
        rank_of(formulation)


def test_every_code_of_the_order_is_a_known_formulation():
    # [CROPLIFE-TM2] SB is its suffix for a soluble bag
    known = set(read_toml("formulations")["codes"]) | {"SB"}

    ranked = {code for group in read_toml("filling_order")["groups"] for code in group["codes"]}

    assert ranked <= known


def test_half_of_the_water_comes_before_any_product():
    # [WALES-PATROL] half full, then the products
    sentences = said(ingredient("EC"))

    half = next(i for i, sentence in enumerate(sentences) if "half of what goes in" in sentence)
    product = next(i for i, sentence in enumerate(sentences) if "product EC" in sentence)
    assert "1.95 gal" in sentences[half]
    assert half < product


def test_label_and_protection_come_before_everything():
    sentences = said(ingredient("EC"))

    assert "label's mixing instructions" in sentences[0]
    assert "before opening a container" in sentences[1]


def test_liquids_are_shaken_and_powders_stirred_to_a_slurry():
    # [MANITOBA-MIXING] shake liquids before measuring; add dry products slowly
    sentences = said(ingredient("EC"), ingredient("WP"))

    assert any("Shake the container of product EC" in sentence for sentence in sentences)
    assert any("product WP, stir it to a slurry" in sentence for sentence in sentences)


def test_a_suspension_is_no_powder_and_is_stirred_only_where_nothing_else_stirs_it():
    # [MANITOBA-MIXING] liquids are shaken; that they settle is common practice
    with_agitator = said(ingredient("SC"))
    without = said(ingredient("SC"), has_agitator=False)

    assert not any("slurry" in sentence for sentence in with_agitator + without)
    assert not any("stir it in water" in sentence for sentence in with_agitator)
    assert any("stir it in water" in sentence for sentence in without)


@pytest.mark.parametrize(
    ("formulation", "settles"), [("WP", True), ("SC", True), ("OD", True), ("EC", False)]
)
def test_what_does_not_dissolve_settles_between_plants(formulation, settles):
    # common practice
    last = said(ingredient(formulation), has_agitator=False)[-1]

    assert ("between plants" in last) is settles


def test_a_tank_without_agitator_is_shaken():
    # common practice
    with_agitator = said(ingredient("SC"))
    without = said(ingredient("SC"), has_agitator=False)

    assert not any("Shake the tank" in sentence for sentence in with_agitator)
    assert "between plants" in without[-1]


def test_a_solution_need_not_be_shaken_between_plants():
    assert "between plants" not in said(ingredient("SL"), has_agitator=False)[-1]
    asked = ingredient("SL", needs_agitation=True)
    assert "between plants" in said(asked, has_agitator=False)[-1]


def test_the_steps_are_numbered_and_end_full():
    steps = filling_steps(
        gallons=4, water_gallons=Decimal("3.9"), ingredients=[], has_agitator=True
    )

    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    assert any("Top up to 4 gal; that is 3.9 gal" in step.say() for step in steps)


def test_a_step_is_said_in_another_language():
    step = Step(1, "Add %(amount)s.", {"amount": "6 fl oz"})

    assert step.say({"Add %(amount)s.": "Agregue %(amount)s."}.get) == "Agregue 6 fl oz."


@pytest.mark.parametrize(
    ("container", "part", "water"),
    [("1", "1/4", "0.75"), ("4.99", "1/4", "3.7425"), ("5", "1/5", "3"), ("30", "1/5", "18")],
)
def test_a_container_is_rinsed_by_its_size(container, part, water):
    # [MT-RINSING] a quarter under five gallons, a fifth from five on; [IL-RINSING] three times
    assert rinse_water_gallons(Decimal(container)) == Decimal(water)
    assert rinsing_steps(Decimal(container))[1].facts["part"] == part
    assert [step.number for step in rinsing_steps(Decimal(container))] == [1, 2, 3, 4, 5]
