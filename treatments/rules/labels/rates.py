"""Whether a rate lies within what the label gives for the plants and the pest.

A rate above the label's is unlawful, a lower one is not unless the label says so
[WAC-16-228-1225] [7USC136].
"""

from decimal import Decimal

from treatments.rules.facts import PlannedApplication, ProductFacts, RateFacts
from treatments.rules.findings import Finding, Severity, gettext_noop

ABOVE = gettext_noop("%(rate)s %(basis)s of %(product)s is above the label's %(limit)s.")
LOWER = gettext_noop("Use at most %(limit)s %(basis)s.")
BELOW = gettext_noop("%(rate)s %(basis)s of %(product)s is below the label's lowest, %(limit)s.")
MAY_FAIL = gettext_noop("It is lawful unless the label forbids it, but it may fail.")
OTHER_BASIS = gettext_noop(
    "The rate of %(product)s is given in %(basis)s and the label's in %(limit)s, so that it "
    "cannot be held against the label."
)
USE_LABEL_BASIS = gettext_noop("Give the rate in %(limit)s.")
NOT_POSITIVE = gettext_noop("%(rate)s %(basis)s of %(product)s is no rate.")


def rates_for(product: ProductFacts, plant_group: str, pest: str) -> list[RateFacts]:
    """Return the label's rates for plants and pest, those that name the pest before the others.

    A rate that names no pest holds for any; where the label names this pest, only those count.
    """
    rates = [rate for rate in product.rates if rate.plant_group == plant_group]
    named = [rate for rate in rates if pest and rate.pest == pest]
    return named or [rate for rate in rates if not rate.pest] or rates


def check_rate(application: PlannedApplication, plant_group: str) -> list[Finding]:
    """Return a refusal above the label's rate and a note below it.

    application: the rate, in its basis
    plant_group: the site as the label names it

    Nothing is returned for a site without a rate; `check_site` refuses that.
    """
    rates = rates_for(application.product, plant_group, application.pest)
    if application.rate <= 0:
        return [_finding("rate-not-positive", Severity.REFUSAL, NOT_POSITIVE, "", application)]
    if not rates:
        return []
    alike = [rate for rate in rates if rate.basis == application.basis]
    if not alike:
        bases = " / ".join(sorted({rate.basis for rate in rates}))
        return [
            _finding(
                "rate-basis-differs",
                Severity.REFUSAL,
                OTHER_BASIS,
                USE_LABEL_BASIS,
                application,
                bases,
            )
        ]
    return _within(
        application, min(rate.minimum for rate in alike), max(rate.maximum for rate in alike)
    )


def _within(application: PlannedApplication, minimum: Decimal, maximum: Decimal) -> list[Finding]:
    if application.rate > maximum:
        return [_finding("rate-above-label", Severity.REFUSAL, ABOVE, LOWER, application, maximum)]
    if application.rate < minimum:
        return [_finding("rate-below-label", Severity.NOTE, BELOW, MAY_FAIL, application, minimum)]
    return []


def _finding(
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str,
    application: PlannedApplication,
    limit: object = "",
) -> Finding:
    facts = {
        "product": application.product.name,
        "rate": application.rate,
        "basis": application.basis,
        "limit": limit,
    }
    return Finding(code, severity, sentence, remedy, facts, "label")
