"""Mixes as the book and the phone must both reckon them: shared cases, chance cases, one telling.

What is told of a mix are the digits that a crew reads; the phone's page tells them the same way.
"""

import json
import random
from decimal import Decimal
from pathlib import Path

from treatments.rules.findings import Refused
from treatments.rules.tanks import Adjuvant, Limit, plan_mix
from treatments.rules.units import Basis, Measure, Unit

CASES = json.loads((Path(__file__).parent / "treatments/rules/mixes.json").read_text())
AMOUNTS = [
    "rate",
    "maximum_rate",
    "minimum_rate",
    "tank_gallons",
    "smallest_batch_gallons",
    "spray_gallons",
    "treated_area_sq_ft",
    "output_gal_per_1000_sq_ft",
]


def told(asked):
    """Return what the book says of a mix, in the digits that are shown."""
    try:
        plan = plan_mix(**arguments(asked))
    except Refused as refusal:
        return {"refused": type(refusal).__name__}
    return {
        "spray": shown(plan.spray_gallons),
        "full_tanks": plan.full_tanks,
        "tanks": [told_tank(tank) for tank in plan.tanks],
        "total": str(plan.total),
        "total_measured": str(plan.total_measured),
        "total_from_store": str(plan.total_from_store),
        "findings": [finding.code for finding in plan.findings],
    }


def told_tank(tank):
    """Return what is shown of one tank."""
    return {
        "gallons": shown(tank.gallons),
        "water": shown(tank.water_gallons),
        "product": str(tank.product.measured),
        "meant": str(tank.product.exact),
        "tool": tank.product.tool.name,
        "fillings": tank.product.fillings,
        "percent": f"{tank.product.relative_error * 100:+.1f}".removeprefix("+"),
        "adjuvants": [str(each.exact) for each in tank.adjuvants],
        "adjuvants_measured": [str(each.measured) for each in tank.adjuvants],
    }


def shown(gallons):
    """Return gallons as a person reads them."""
    return Measure(gallons, Unit.GALLON).shown()


def arguments(asked):
    """Return the arguments of the rule from texts."""
    told = dict(asked)
    for name in AMOUNTS:
        if told.get(name) is not None:
            told[name] = Decimal(told[name])
    told["basis"] = Basis(told["basis"])
    if "store_unit" in told:
        told["store_unit"] = Unit(told["store_unit"])
    told["limits"] = [
        Limit(Decimal(each["maximum"]), Basis(each["basis"])) for each in told.get("limits", [])
    ]
    told["adjuvants"] = [adjuvant(each) for each in told.get("adjuvants", [])]
    return told


def adjuvant(told):
    """Return an adjuvant from texts."""
    most = told["maximum_rate"]
    return Adjuvant(
        told["name"],
        Decimal(told["rate"]),
        Basis(told["basis"]),
        None if most is None else Decimal(most),
    )


def by_chance(count, seed):
    """Return mixes of every basis, some of them absurd; the same for the same seed."""
    chance = random.Random(seed)
    return [one_by_chance(chance) for _ in range(count)]


def one_by_chance(chance):
    """Return one mix; refusals and limits that are passed are among them."""
    basis = chance.choice(list(Basis))
    rate = amount(chance, "0.01", "12", 3)
    asked = {
        "rate": rate,
        "basis": str(basis),
        "maximum_rate": chance.choice([None, rate, amount(chance, "0.01", "15", 3)]),
        "minimum_rate": chance.choice([None, rate]),
        "tank_gallons": amount(chance, "1", "100", 2),
        "smallest_batch_gallons": chance.choice(["0", "0.5", "2"]),
        "limits": [limit(chance, basis) for _ in range(chance.randrange(3))],
        "adjuvants": [beside(chance) for _ in range(chance.randrange(2))],
    }
    return asked | size(chance)


def size(chance):
    """Return how large a job is: by its spray, by area and output, or by both."""
    spray = {"spray_gallons": amount(chance, "0.1", "300", 3)}
    area = {"treated_area_sq_ft": amount(chance, "50", "60000", 1)}
    output = {"output_gal_per_1000_sq_ft": amount(chance, "0.5", "9", 2)}
    return chance.choice([spray, spray | area, area | output, spray | output])


def limit(chance, basis):
    """Return a limit that counts the product as its rate does."""
    alike = [each for each in Basis if each.amount_unit.kind is basis.amount_unit.kind]
    return {"maximum": amount(chance, "0.05", "40", 2), "basis": str(chance.choice(alike))}


def beside(chance):
    """Return an adjuvant."""
    basis = chance.choice([Basis.FLUID_OUNCES_PER_GALLON, Basis.PERCENT_BY_VOLUME])
    rate = amount(chance, "0.05", "1", 2)
    most = chance.choice([None, rate])
    return {"name": "surfactant", "rate": rate, "basis": str(basis), "maximum_rate": most}


def amount(chance, least, most, places):
    """Return an amount between two others, with some places."""
    drawn = chance.uniform(float(least), float(most))
    return str(max(Decimal(least), round(Decimal(drawn), places)))
