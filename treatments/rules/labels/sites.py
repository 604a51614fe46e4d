"""Whether a label lists the plants and the pest.

Use on a site that the label does not name is unlawful; a pest that it does not name, on a site
that it names, is allowed unless the label forbids it [WAC-16-228-1225] [7USC136].
"""

from treatments.rules.facts import PlannedApplication, PlantingFacts, ProductFacts
from treatments.rules.findings import Finding, Marked, Severity, as_marked, gettext_noop

NOT_LISTED = gettext_noop("The label of %(product)s does not list %(site)s.")
CHOOSE_LISTED = gettext_noop("Choose a product whose label lists %(site)s.")
EXCLUDED = gettext_noop("The label of %(product)s forbids it on %(plant)s.")
CHOOSE_OTHER = gettext_noop("Choose another product for %(plant)s.")
PEST_NOT_LISTED = gettext_noop(
    "The label of %(product)s lists %(site)s but not %(pest)s; the law allows that unless the "
    "label forbids it."
)
EXPECT_LESS = gettext_noop("Expect no promise from the label that it works on %(pest)s.")
NOT_ORGANIC = gettext_noop(
    "%(product)s is not listed for organic use, and %(planting)s is kept organic."
)
CHOOSE_ORGANIC = gettext_noop("Choose a product that is listed, or agree otherwise in writing.")


def check_site(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return a refusal for a site that is not listed, a note for a pest that is not.

    application: the product and the pest it is against
    planting: its plant group and species
    """
    product = application.product
    if excluded := excluded_plant(product, planting):
        facts = {"product": product.name, "plant": excluded}
        return [Finding("plant-excluded", Severity.REFUSAL, EXCLUDED, CHOOSE_OTHER, facts)]
    pests = {rate.pest for rate in product.rates if rate.plant_group == planting.plant_group}
    facts = {
        "product": product.name,
        "site": Marked(planting.plant_group),
        "pest": as_marked(application.pest),
    }
    if not pests:
        return [
            Finding(
                "site-not-listed", Severity.REFUSAL, NOT_LISTED, CHOOSE_LISTED, facts, "7USC136"
            )
        ]
    if application.pest and not pests & {"", application.pest}:
        return [
            Finding(
                "pest-not-listed",
                Severity.NOTE,
                PEST_NOT_LISTED,
                EXPECT_LESS,
                facts,
                "WAC-16-228-1225",
            )
        ]
    return []


def excluded_plant(product: ProductFacts, planting: PlantingFacts) -> str:
    """Return the plant of this planting that the label forbids, or an empty text."""
    plants = {planting.species.casefold(), planting.common_name.casefold()} - {""}
    return next((name for name in product.plants_excluded if name.casefold() in plants), "")


def check_organic(product: ProductFacts, planting: PlantingFacts) -> list[Finding]:
    """Return a refusal where a planting is kept organic and the product is not listed.

    Listing is a matter of the formulation [7CFR205-601], so it is copied from the label.
    """
    if product.organic_listed or not planting.organic_only:
        return []
    facts = {"product": product.name, "planting": planting.name}
    return [
        Finding("not-organic", Severity.REFUSAL, NOT_ORGANIC, CHOOSE_ORGANIC, facts, "7CFR205-601")
    ]
