"""Plants that a product may injure, thirst, and leaves that shed the spray."""

from typing import Any

from treatments.rules.facts import (
    PlannedApplication,
    PlantingFacts,
    ProductFacts,
    SeparationClass,
)
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

SENSITIVE = gettext_noop("%(plant)s is injured by %(family)s, which %(product)s is.")
SOMETIMES = gettext_noop("Some kinds of %(plant)s are injured by %(family)s: %(product)s.")
TEST_BRANCH = gettext_noop("Treat a test branch and wait three days, or use another product.")
THIRSTY = gettext_noop("%(planting)s is short of water; %(family)s (%(product)s) would injure it.")
WATER_FIRST = gettext_noop("Water it well and treat when the plants have recovered.")
NO_SPREADER = gettext_noop("%(product)s needs no spreader; one is planned with it.")
NO_SPREADER_WITH = gettext_noop(
    "%(family)s spreads by itself; a spreader with %(product)s is too much."
)
LEAVE_OUT = gettext_noop("Leave the spreader out.")
WAXY = gettext_noop("The leaves of %(planting)s are waxy, and no spreader is planned.")
SPREADER_IF_ALLOWED = gettext_noop(
    "Add a non-ionic spreader-sticker if the label of %(product)s allows one."
)

THIRST = {  # families that injure plants short of water
    SeparationClass.OIL: "UC-IPM-PN7493",
    SeparationClass.SOAP: "CORNELL-CCE",
    SeparationClass.SULFUR: "common practice",
}
SPREADS_BY_ITSELF = {SeparationClass.OIL, SeparationClass.SOAP}  # common practice


def check_sensitive_plants(product: ProductFacts, planting: PlantingFacts) -> list[Finding]:
    """Return a warning for plants that this family of product is known to injure.

    Soap [CORNELL-CCE] and oil [WSU-OIL]; a plant is known by its common or scientific name.  A
    test branch is watched for three days [CORNELL-CCE].
    """
    plant = f"{planting.common_name} {planting.species}".casefold()
    families = {family.value for family in product.separation_classes()}
    return [
        _sensitive(row, product, planting)
        for row in read_toml("sensitive_plants")["plants"]
        if row["family"] in families and any(name in plant for name in row["names"])
    ]


def _sensitive(row: dict[str, Any], product: ProductFacts, planting: PlantingFacts) -> Finding:
    facts = {
        "plant": planting.common_name or planting.species,
        "family": Marked(row["family"]),
        "product": product.name,
    }
    sentence = SOMETIMES if row.get("some") else SENSITIVE
    return Finding("sensitive-plant", Severity.WARNING, sentence, TEST_BRANCH, facts, row["source"])


def check_drought(product: ProductFacts, planting: PlantingFacts) -> list[Finding]:
    """Return a warning for oil, soap or sulfur on plants that are short of water."""
    if not planting.drought_stressed:
        return []
    return [
        Finding(
            "drought",
            Severity.WARNING,
            THIRSTY,
            WATER_FIRST,
            {"planting": planting.name, "family": Marked(family.value), "product": product.name},
            THIRST[family],
        )
        for family in sorted(product.separation_classes())
        if family in THIRST
    ]


def check_spreader(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return what there is to say of a spreader-sticker: one too many, or one that is missing.

    Where the label says that the product needs none, adding one is use against the label.
    """
    product = application.product
    by_itself = sorted(product.separation_classes() & SPREADS_BY_ITSELF)
    facts: dict[str, object] = {
        "product": product.name,
        "planting": planting.name,
        "family": Marked(by_itself[0].value if by_itself else ""),
    }
    if application.with_spreader and product.needs_no_spreader:
        return [Finding("spreader-unneeded", Severity.REFUSAL, NO_SPREADER, LEAVE_OUT, facts)]
    if application.with_spreader and by_itself:
        return [
            _practice("spreader-too-much", Severity.WARNING, NO_SPREADER_WITH, LEAVE_OUT, facts)
        ]
    if application.with_spreader or by_itself or product.needs_no_spreader:
        return []
    if not planting.waxy_leaf:
        return []
    return [_practice("waxy-leaf", Severity.NOTE, WAXY, SPREADER_IF_ALLOWED, facts)]


def _practice(
    code: str, severity: Severity, sentence: str, remedy: str, facts: dict[str, object]
) -> Finding:
    return Finding(code, severity, sentence, remedy, facts, "common practice")
