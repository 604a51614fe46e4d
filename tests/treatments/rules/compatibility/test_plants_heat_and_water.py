"""Heat, drought, sensitive plants, spreaders and the pH of the water."""

from decimal import Decimal

import pytest

from treatments.rules.compatibility import (
    check_drought,
    check_heat,
    check_sensitive_plants,
    check_spreader,
    check_water_ph,
    fraction_left,
    half_life_hours,
    heat_limits,
)
from treatments.rules.facts import IngredientFacts, SeparationClass
from treatments.rules.findings import Severity


@pytest.fixture
def of_family(a_product):
    """Return a product of one family."""

    def build(family, **changes):
        ingredient = IngredientFacts(family, separation_class=SeparationClass(family))
        return a_product(f"Invented {family}", ingredients=(ingredient,), **changes)

    return build


@pytest.mark.parametrize(
    ("family", "temperature", "code"),
    [
        ("oil", "90", "warm"),  # [UC-IPM-PN7493] not above 90 F
        ("oil", "90.1", "too-hot"),
        ("oil", "85", None),  # [WSU-OIL] 50 to 85 F
        ("oil", "85.1", "warm"),
        ("oil", "50", None),
        ("oil", "49.9", "cold"),
        ("sulfur", "89.9", "warm"),
        ("sulfur", "90", "too-hot"),  # [UC-IPM-PN7493] not at or near 90 F
        ("soap", "90", None),  # common practice
        ("soap", "90.1", "too-hot"),
        ("copper", "95", None),
    ],
)
def test_heat_and_cold_stop_what_they_make_harmful(of_family, codes, family, temperature, code):
    assert codes(check_heat(of_family(family), Decimal(temperature))) == ([code] if code else [])


def test_an_unknown_temperature_says_nothing_of_leaves(of_family):
    assert check_heat(of_family("oil"), None) == []


# [UC-IPM-PN7493] oil above 90 °F, sulfur at or near it
@pytest.mark.parametrize(("family", "stops_at"), [("oil", False), ("sulfur", True)])
def test_limits_told_elsewhere_stop_at_the_same_figure(of_family, family, stops_at):
    (limits,) = heat_limits(of_family(family))

    assert (limits["stop"], limits["stops_at"]) == (90, stops_at)
    stopped = check_heat(of_family(family), Decimal(90))
    assert any(each.severity is Severity.REFUSAL for each in stopped) is stops_at


@pytest.mark.parametrize(("humidity", "damp"), [(90, False), (91, True)])
def test_oil_dries_slowly_in_damp_air(of_family, humidity, damp):
    # common practice
    assert bool(check_heat(of_family("oil"), Decimal(70), Decimal(humidity))) is damp


@pytest.mark.parametrize(
    "plant",
    ["Japanese maple", "Acer palmatum 'Bloodgood'", "sweetgum", "Lantana camara", "mountain ash"],
)
def test_soap_is_warned_of_on_the_plants_that_cornell_names(of_family, a_planting, plant):
    # as written in [CORNELL-CCE]
    (finding,) = check_sensitive_plants(of_family("soap"), a_planting(species=plant))

    assert (finding.severity, finding.source) == (Severity.WARNING, "CORNELL-CCE")


def test_oil_takes_the_blue_from_blue_spruce(of_family, a_planting):
    # as written in [WSU-OIL]
    spruce = a_planting(species="Picea pungens", common_name="blue spruce")

    (finding,) = check_sensitive_plants(of_family("oil"), spruce)

    assert "blue spruce" in finding.say()
    assert check_sensitive_plants(of_family("soap"), spruce) == []


@pytest.mark.parametrize(("family", "warned"), [("oil", True), ("soap", True), ("copper", False)])
def test_thirsty_plants_are_watered_first(of_family, a_planting, family, warned):
    # [UC-IPM-PN7493] oil; [CORNELL-CCE] soap
    dry = a_planting(drought_stressed=True)

    assert bool(check_drought(of_family(family), dry)) is warned
    assert check_drought(of_family(family), a_planting()) == []


def test_a_spreader_against_the_label_is_refused(a_week, a_product, a_planting):
    week = a_week(product=a_product(needs_no_spreader=True), with_spreader=True)

    assert check_spreader(week, a_planting())[0].severity is Severity.REFUSAL


def test_a_spreader_with_oil_is_too_much(a_week, of_family, a_planting, codes):
    week = a_week(product=of_family("oil"), with_spreader=True)

    assert codes(check_spreader(week, a_planting())) == ["spreader-too-much"]


def test_waxy_leaves_are_noted_when_the_spray_would_run_off(a_week, of_family, a_planting, codes):
    waxy = a_planting(waxy_leaf=True)

    assert codes(check_spreader(a_week(), waxy)) == ["waxy-leaf"]
    assert check_spreader(a_week(product=of_family("soap")), waxy) == []
    assert check_spreader(a_week(with_spreader=True), waxy) == []


@pytest.mark.parametrize(("half_lives", "left"), [(1, 0.5), (2, 0.25), (3, 0.125)])
def test_half_is_left_after_each_half_life(half_lives, left):
    # [MSU-WATER-PH] half, a quarter, an eighth
    assert fraction_left(19 * half_lives, half_life=19) == left


@pytest.mark.parametrize(
    ("active", "ph", "hours"),
    [
        ("malathion", "6", 192),  # [MSU-WATER-PH] 8 days at pH 6
        ("malathion", "8", 19),  # 19 hours at pH 8
        ("captan", "7", 8),  # 8 hours at pH 7
        ("carbaryl", "6", 2400),  # 100 days at pH 6
        ("captan", "9.5", 0.0333),  # 2 minutes at pH 9; above the last row the last one holds
    ],
)
def test_half_lives_are_those_that_were_read(active, ph, hours):
    row = half_life_hours(active, Decimal(ph))

    assert (row["hours"], row["mark"]) == (hours, "read")


def test_water_above_the_labels_ph_is_refused(a_product):
    product = a_product(water_ph_maximum=Decimal("7.0"))

    assert check_water_ph(product, Decimal("7.0")) == []
    assert check_water_ph(product, Decimal("7.1"))[0].severity is Severity.REFUSAL
    assert check_water_ph(product, None) == []


def test_captan_in_neutral_water_is_warned_of(a_product):
    # [MSU-WATER-PH] half-life 8 h at pH 7: 0.5 ** (4 / 8) is 71 percent after four hours
    (finding,) = check_water_ph(a_product(ingredients=(IngredientFacts("captan"),)), Decimal(7))

    assert finding.severity is Severity.WARNING
    assert "71 percent" in finding.say()


@pytest.mark.parametrize(
    ("active", "ph", "percent"),
    [
        ("carbaryl", 6, None),  # [MSU-WATER-PH] half-life 100 days: 0.5 ** (4 / 2400) is 0.999
        ("malathion", 8, "86 percent"),  # 19 hours: 0.5 ** (4 / 19) is 0.864
    ],
)
def test_what_four_hours_take_is_told_below_nine_tenths(a_product, active, ph, percent):
    found = check_water_ph(a_product(ingredients=(IngredientFacts(active),)), Decimal(ph))

    assert [percent in each.say() for each in found] == ([True] if percent else [])


def test_a_half_life_from_memory_only_sends_to_the_label(a_product):
    product = a_product(ingredients=(IngredientFacts("bifenazate"),))

    (finding,) = check_water_ph(product, Decimal(9))

    assert finding.severity is Severity.NOTE
    assert "check the label" in finding.say()
