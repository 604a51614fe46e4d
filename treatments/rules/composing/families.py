"""The families of rules that a composed season keeps, and which of them a person may give up."""

from enum import StrEnum

from treatments.rules.findings import Finding, Marked, Severity, gettext_noop


class Family(StrEnum):
    """Rules that stand or fall together where no season keeps them all."""

    LABEL = "label"
    DISTANCE = "distance"
    HARVEST = "harvest"
    BLOOM = "bloom"
    CERTIFICATE = "certificate"
    ORGANIC_PLANTING = "organic planting"
    INTERVAL = "interval"
    TOTALS = "totals"
    SEPARATION = "separation"
    ORGANIC_WISH = "organic wish"
    WARNINGS = "warnings"
    GENERATIONS = "generations"
    USES = "uses"
    STOCK = "stock"
    EGGS = "eggs"
    VISITS = "visits"
    PINS = "pins"


NAMES: dict[Family, Marked] = {
    Family.LABEL: gettext_noop("the labels' sites, rates and amounts"),
    Family.DISTANCE: gettext_noop("the labels' distances"),
    Family.HARVEST: gettext_noop("the labels' days before harvest"),
    Family.BLOOM: gettext_noop("what labels forbid in bloom"),
    Family.CERTIFICATE: gettext_noop("the certificates held"),
    Family.ORGANIC_PLANTING: gettext_noop("what was agreed for an organic planting"),
    Family.INTERVAL: gettext_noop("the labels' days between applications"),
    Family.TOTALS: gettext_noop("the labels' number and amount a year"),
    Family.SEPARATION: gettext_noop("the days between oil and sulfur and their like"),
    Family.ORGANIC_WISH: gettext_noop("organic products only"),
    Family.WARNINGS: gettext_noop("no product with a warning"),
    Family.GENERATIONS: gettext_noop("no mode of action in two neighboring generations"),
    Family.USES: gettext_noop("the uses of one mode of action a year"),
    Family.STOCK: gettext_noop("only what the store holds"),
    Family.EGGS: gettext_noop("eggs reached in time"),
    Family.VISITS: gettext_noop("a visit in every week, or soon enough after the last"),
    Family.PINS: gettext_noop("the weeks that were fixed or left out"),
}

# Labels, the law and a client's agreement are never offered as what might be given up.
BINDING = frozenset(
    {
        Family.LABEL,
        Family.DISTANCE,
        Family.HARVEST,
        Family.BLOOM,
        Family.CERTIFICATE,
        Family.ORGANIC_PLANTING,
        Family.INTERVAL,
        Family.TOTALS,
        Family.SEPARATION,
    }
)

FAMILY_OF_REFUSAL = {
    "too-near-water": Family.DISTANCE,
    "too-near-well": Family.DISTANCE,
    "too-near-edible": Family.DISTANCE,
    "preharvest-too-short": Family.HARVEST,
    "in-bloom": Family.BLOOM,
    "bees-forage": Family.BLOOM,
    "petals-not-fallen": Family.BLOOM,
    "reaches-bloom": Family.BLOOM,
    "not-organic": Family.ORGANIC_PLANTING,
    "no-certificate": Family.CERTIFICATE,
    "category-not-held": Family.CERTIFICATE,
    "certificate-expired": Family.CERTIFICATE,
    "certificate-not-issued": Family.CERTIFICATE,
    "limited-word": Family.CERTIFICATE,
    "limited-site": Family.CERTIFICATE,
}

BITS = {family: 1 << place for place, family in enumerate(Family)}
EVERY_FAMILY = sum(BITS.values())


def family_of(finding: Finding) -> Family | None:
    """Return the family under which a finding of one week bars a product; a note bars nothing."""
    if finding.severity is Severity.REFUSAL:
        return FAMILY_OF_REFUSAL.get(finding.code, Family.LABEL)
    return Family.WARNINGS if finding.severity is Severity.WARNING else None
