"""What alkaline water takes from a product while the tank stands.

Half is left after one half-life, a quarter after two, an eighth after three [MSU-WATER-PH].
"""

from decimal import Decimal
from typing import Any

from treatments.rules.facts import ProductFacts
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.table_files import read_toml

PH_ABOVE = gettext_noop("Water of pH %(ph)s is above the label's %(limit)s for %(product)s.")
BUFFER = gettext_noop("Bring the water to pH 5.5 to 6.5 with a buffer that the label allows.")
WEAKENED = gettext_noop(
    "In water of pH %(ph)s %(percent)s percent of the %(active)s in %(product)s is left after "
    "%(hours)s hours."
)
MAY_WEAKEN = gettext_noop(
    "In water of pH %(ph)s the %(active)s in %(product)s may weaken within hours; check the label."
)
BUFFER_OR_HURRY = gettext_noop("Spray at once, or lower the pH of the water.")

ENOUGH_LEFT = 0.9  # common practice: warned below this


def fraction_left(hours: float, half_life: float) -> float:
    """Return the part of an ingredient that is left after some hours in water [MSU-WATER-PH].

    >>> fraction_left(3, half_life=1)
    0.125
    """
    return 0.5 ** (hours / half_life)


def half_life_hours(active: str, ph: Decimal) -> dict[str, Any] | None:
    """Return the row of the table that holds at a pH: the next one at or above it, else the last.

    Loss is faster in more alkaline water, so the next row errs on the careful side.  None when
    the ingredient is not in the table.

    >>> half_life_hours("malathion", Decimal("7.4"))["hours"]
    19
    """
    for entry in read_toml("hydrolysis")["half_life"]:
        if entry["active"] in active.casefold():
            return next((row for row in entry["rows"] if row["ph"] >= ph), entry["rows"][-1])
    return None


def check_water_ph(
    product: ProductFacts, ph: Decimal | None, hours_in_tank: float = 4
) -> list[Finding]:
    """Return a refusal above the label's pH, and what the tank loses while it stands.

    ph: measured in the water before mixing; None when it was not measured
    hours_in_tank: how long the mixture stands before the last of it is sprayed
    """
    if ph is None:
        return []
    if product.water_ph_maximum is not None and ph > product.water_ph_maximum:
        facts = {"product": product.name, "ph": ph, "limit": product.water_ph_maximum}
        return [Finding("water-too-alkaline", Severity.REFUSAL, PH_ABOVE, BUFFER, facts)]
    return [
        finding
        for ingredient in product.ingredients
        for finding in _loss(ingredient.name, product, ph, hours_in_tank)
    ]


def _loss(active: str, product: ProductFacts, ph: Decimal, hours: float) -> list[Finding]:
    row = half_life_hours(active, ph)
    left = fraction_left(hours, row["hours"]) if row else 1.0
    if row is None or left >= ENOUGH_LEFT:
        return []
    facts = {
        "active": active,
        "product": product.name,
        "ph": ph,
        "hours": f"{hours:g}",
        "percent": f"{100 * left:.0f}",
    }
    # A half-life from memory only sends the reader to the label.
    if row["mark"] == "memory":
        return [
            Finding("may-weaken", Severity.NOTE, MAY_WEAKEN, BUFFER_OR_HURRY, facts, "MSU-WATER-PH")
        ]
    return [Finding("weakened", Severity.WARNING, WEAKENED, BUFFER_OR_HURRY, facts, "MSU-WATER-PH")]
