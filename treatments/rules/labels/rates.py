"""Whether a rate lies within what the label gives for the plants and the pest.

A rate above the label's is unlawful, a lower one is not unless the label says so
[WAC-16-228-1225] [7USC136].
"""

from decimal import Decimal

from treatments.rules.facts import PlannedApplication, ProductFacts, RateFacts
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.units import Basis, UnitMismatch, convert_rate

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
    limits = [limit for rate in rates if (limit := _limits_in(rate, application.basis))]
    if not limits:
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
    lowest, highest = zip(*limits, strict=True)
    return _within(application, min(lowest), max(highest))


def rate_in(rate: Decimal, from_basis: str, to_basis: str) -> Decimal | None:
    """Return a rate on another basis, or None where only a calibration joins the two.

    >>> rate_in(Decimal(1), "pt/100 gal", "fl oz/100 gal")
    Decimal('16')
    >>> rate_in(Decimal(1), "pt/100 gal", "fl oz/1000 ft2") is None
    True
    """
    if from_basis == to_basis:
        return rate
    try:
        return convert_rate(rate, Basis(from_basis), Basis(to_basis))
    except UnitMismatch:
        return None


def _limits_in(rate: RateFacts, basis: str) -> tuple[Decimal, Decimal] | None:
    lowest = rate_in(rate.minimum, rate.basis, basis)
    highest = rate_in(rate.maximum, rate.basis, basis)
    return None if lowest is None or highest is None else (lowest, highest)


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
