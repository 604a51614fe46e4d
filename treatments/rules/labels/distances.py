"""The distances a label keeps from water, wells and plants that are eaten."""

from decimal import Decimal

from treatments.rules.facts import PlantingFacts, ProductFacts
from treatments.rules.findings import Finding, Severity, gettext_noop

WATER_NEAR = gettext_noop(
    "%(planting)s is %(distance)s ft from water; %(product)s keeps %(limit)s ft away."
)
WATER_UNKNOWN = gettext_noop(
    "How far %(planting)s is from water is not known; %(product)s keeps %(limit)s ft away."
)
WELL_NEAR = gettext_noop(
    "%(planting)s is %(distance)s ft from a well; %(product)s keeps %(limit)s ft away."
)
WELL_UNKNOWN = gettext_noop(
    "How far %(planting)s is from a well is not known; %(product)s keeps %(limit)s ft away."
)
EDIBLE_NEAR = gettext_noop(
    "%(planting)s is %(distance)s ft from plants that are eaten; %(product)s keeps %(limit)s ft "
    "away."
)
EDIBLE_UNKNOWN = gettext_noop(
    "How far %(planting)s is from plants that are eaten is not known; %(product)s keeps %(limit)s "
    "ft away."
)
LEAVE_STRIP = gettext_noop("Leave the strip untreated, or use another product.")
MEASURE = gettext_noop("Measure it; where there is none, say so on the property.")


def check_distances(product: ProductFacts, planting: PlantingFacts) -> list[Finding]:
    """Return a refusal where a planting is nearer than the label allows, in feet."""
    asked = [
        ("water", product.water_buffer_ft, planting.water_distance_ft, WATER_NEAR, WATER_UNKNOWN),
        ("well", product.well_buffer_ft, planting.well_distance_ft, WELL_NEAR, WELL_UNKNOWN),
        (
            "edible",
            product.edible_buffer_ft,
            planting.edible_distance_ft,
            EDIBLE_NEAR,
            EDIBLE_UNKNOWN,
        ),
    ]
    names = {"product": product.name, "planting": planting.name}
    return [
        finding
        for what, limit, distance, near, unknown in asked
        for finding in _distance(what, limit, distance, near, unknown, names)
    ]


def _distance(
    what: str,
    limit: Decimal | None,
    distance: Decimal | None,
    near: str,
    unknown: str,
    names: dict[str, str],
) -> list[Finding]:
    facts = names | {"distance": distance, "limit": limit}
    if not limit or (distance is not None and distance >= limit):
        return []
    if distance is None:
        return [Finding(f"{what}-distance-unknown", Severity.WARNING, unknown, MEASURE, facts)]
    return [Finding(f"too-near-{what}", Severity.REFUSAL, near, LEAVE_STRIP, facts)]
