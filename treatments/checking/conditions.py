"""Whether the air lets a product be sprayed."""

from treatments.gathering import product_facts
from treatments.models import Product
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding
from treatments.rules.spraying import spray_verdict


def check_conditions(
    product: Product, conditions: Conditions, *, at_dusk: bool = False
) -> list[Finding]:
    """Return what stands against spraying a product in this air; nothing means go."""
    return spray_verdict(conditions, [product_facts(product)], at_dusk=at_dusk)
