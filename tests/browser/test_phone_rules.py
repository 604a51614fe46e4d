"""The phone reckons mixes and judges the air as the book does, to the last digit shown."""

import random
from decimal import Decimal

import pytest

from tests.mixes import CASES, amount, by_chance, told
from treatments.rules.compatibility import heat_limits
from treatments.rules.facts import Conditions, IngredientFacts, ProductFacts, SeparationClass
from treatments.rules.spraying import (
    DRY_HOURS,
    WIND_ADVISED_MPH,
    WIND_LEAST_MPH,
    WIND_STOP_MPH,
    spray_verdict,
)

pytestmark = [pytest.mark.browser, pytest.mark.once]

MANY = 400
LIMITS = {
    "wind_maximum_mph",
    "temperature_maximum_f",
    "temperature_minimum_f",
    "rainfast_hours",
}
# [SPRAYERS101] Delta T is good from 2 to 8 °C, up to 10 with care; temperature in °F and humidity
# in per cent, with what a wet bulb of [STUDYLIB-RH] makes of them.
DRYING = [
    ("68", "59", []),  # dry 20 °C, wet 15 °C [STUDYLIB-RH]: Delta T 5
    ("68", "100", ["delta-t-low"]),  # nothing evaporates into full air
    ("104", "20", ["delta-t-high"]),  # 40 °C and dry
]
TELLS_MIXES = """
async (asked) => {
  const { planMix } = await import("/static/field/mixing.js");
  const { exact, fixed, shown, times } = await import("/static/field/exact.js");
  const measure = ({ amount, unit }) => `${shown(amount)} ${unit}`;
  const tank = ({ gallons, water_gallons, product, adjuvants }) => ({
    gallons: shown(gallons),
    water: shown(water_gallons),
    product: measure(product.measured),
    meant: measure(product.exact),
    tool: product.tool,
    fillings: Number(product.fillings),
    percent: fixed(times(product.error, exact("100")), 1),
    adjuvants: adjuvants.map((each) => measure(each.exact)),
    adjuvants_measured: adjuvants.map((each) => measure(each.measured)),
  });
  const told = (each) => {
    try {
      const plan = planMix(each);
      return {
        spray: shown(plan.spray_gallons),
        full_tanks: plan.full_tanks,
        tanks: plan.tanks.map(tank),
        total: measure(plan.total),
        total_measured: measure(plan.total_measured),
        total_from_store: measure(plan.total_from_store),
        findings: plan.findings.map(({ code }) => code),
      };
    } catch (error) {
      return { refused: error.code ?? String(error) };
    }
  };
  return asked.map(told);
}
"""
TELLS_AIR = """
async (asked) => {
  const { verdict } = await import("/static/field/spraying.js");
  const known = (facts) => Object.fromEntries(Object.entries(facts).filter(([, value]) => value));
  return asked.map(({ measured, products, air, dusk }) =>
    verdict(measured, products, air, dusk)
      .map(({ code, severity, facts }) => [code, severity, known(facts)]));
}
"""
AIR = {
    "wind_least_mph": str(WIND_LEAST_MPH),
    "wind_advised_mph": str(WIND_ADVISED_MPH),
    "wind_stop_mph": str(WIND_STOP_MPH),
    "dry_hours": str(DRY_HOURS),
}


@pytest.fixture
def page(window):
    """A page of the book, for its scripts."""
    page = window()
    page.goto("/field/enrol/")
    return page


def test_the_phone_tells_the_shared_cases_as_the_book_does(page):
    asked = [case["asked"] for case in CASES]

    found = page.evaluate(TELLS_MIXES, asked)

    assert found == [told(each) for each in asked]


def test_the_phone_tells_any_mix_as_the_book_does(page):
    seed = random.randrange(10**9)
    asked = by_chance(MANY, seed)

    found = page.evaluate(TELLS_MIXES, asked)

    expected = [told(each) for each in asked]
    differing = [row for row in zip(asked, expected, found, strict=True) if row[1] != row[2]]
    assert differing == [], f"seed {seed}"
    assert sum("refused" not in each for each in expected) > MANY / 4


def test_the_phone_judges_wind_heat_and_rain_as_the_book_does(page):
    seed = random.randrange(10**9)
    chance = random.Random(seed)
    asked = [air_by_chance(chance) for _ in range(MANY)]

    found = page.evaluate(TELLS_AIR, asked)

    assert found == [judged(each) for each in asked], f"seed {seed}"


def test_the_phone_judges_drying_by_the_published_limits(page):
    asked = [
        {
            "measured": {"wind_mph": "5", "temperature_f": heat, "humidity_percent": damp},
            "products": [],
            "air": AIR,
            "dusk": False,
        }
        for heat, damp, _codes in DRYING
    ]

    found = page.evaluate(TELLS_AIR, asked)

    assert [[code for code, *_more in each] for each in found] == [codes for *_air, codes in DRYING]


def air_by_chance(chance):
    """Return an air with up to two labels, some of oils, soaps or sulfur."""
    measured = {
        "wind_mph": chance.choice([None, amount(chance, "0", "15", 0), "3", "8", "10"]),
        "temperature_f": chance.choice([None, amount(chance, "20", "110", 1), "90"]),
        "humidity_percent": chance.choice([None, amount(chance, "5", "100", 0), "90"]),
        "hours_to_rain": chance.choice([None, amount(chance, "0", "12", 0), "6"]),
    }
    products = [label_by_chance(chance, number) for number in range(chance.randrange(1, 3))]
    return {"measured": measured, "products": products, "air": AIR, "dusk": chance.random() < 0.5}


def label_by_chance(chance, number):
    """Return what a label says of the air, and what its families bear."""
    families = sorted(chance.sample(["oil", "soap", "sulfur", "copper"], chance.randrange(3)))
    facts = product_of({"name": "", "families": families})
    return {
        "name": f"Invented {number}",
        "families": families,
        "heat": heat_limits(facts),
        "wind_maximum_mph": chance.choice([None, "10", "12.5"]),
        "temperature_maximum_f": chance.choice([None, "90"]),
        "temperature_minimum_f": chance.choice([None, "40"]),
        "rainfast_hours": chance.choice([None, "4", "6"]),
    }


def judged(asked):
    """Return what the book says of an air."""
    measured = {name: decimal(value) for name, value in asked["measured"].items()}
    facts = [product_of(each) for each in asked["products"]]
    findings = spray_verdict(Conditions(at=None, **measured), facts, at_dusk=asked["dusk"])
    return [[each.code, each.severity, plain(each.facts)] for each in findings]


def decimal(text):
    return None if text is None else Decimal(text)


def product_of(label):
    limits = {name: decimal(value) for name, value in label.items() if name in LIMITS}
    ingredients = [ingredient(SeparationClass(each)) for each in label["families"]]
    return ProductFacts(label["name"], "0-100", tuple(ingredients), rates=(), **limits)


def ingredient(family):
    return IngredientFacts("invented", separation_class=family)


def plain(facts):
    return {name: said(value) for name, value in facts.items() if value is not None}


def said(value):
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return str(value) if isinstance(value, int) else value
