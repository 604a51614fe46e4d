"""All the checks over the weeks of a rotation, each finding with its week.

What stands in a label or a law refuses; what is good practice warns and says so; the rest is a
note.  Without a planting only that is checked which needs none.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from treatments.rules.certificates import check_certificates, check_lapsing
from treatments.rules.compatibility import (
    check_drought,
    check_sensitive_plants,
    check_separations,
    check_spreader,
    check_water_ph,
)
from treatments.rules.facts import (
    CertificateFacts,
    LotFacts,
    PastApplication,
    PlannedApplication,
    PlantingFacts,
    ProductFacts,
)
from treatments.rules.findings import Finding, Severity
from treatments.rules.labels import (
    check_actives,
    check_amount,
    check_distances,
    check_intervals,
    check_organic,
    check_preharvest,
    check_rate,
    check_reentry_plausible,
    check_site,
    check_totals,
)
from treatments.rules.pollinators import check_pollinators
from treatments.rules.protection import check_protection
from treatments.rules.resistance import check_resistance
from treatments.rules.stock import check_stock

ORDER = [Severity.REFUSAL, Severity.WARNING, Severity.NOTE]


def check_rotation(
    applications: Sequence[PlannedApplication],
    *,
    planting: PlantingFacts | None = None,
    history: Sequence[PastApplication] = (),
    lots: Sequence[LotFacts] | None = None,
    certificates: Sequence[CertificateFacts] | None = None,
    today: date | None = None,
    generation_days: int | None = None,
) -> list[Finding]:
    """Return everything there is to say of a rotation, in the order of its weeks.

    applications: the weeks on their days; two on one day are one tank
    planting: what is to be treated; None checks only what needs no planting
    history: what the records show on the same planting
    lots: of the store; None leaves the store out, an empty one has nothing
    certificates: of those who may go; None leaves them out, an empty list has nobody
    today: the day from which a lapsing certificate is counted; None leaves that out
    generation_days: length of the pest's generation in the weather expected, in days

    The checks of single weeks cost the same each; those between weeks sort once.
    """
    findings = [
        finding.in_week(application.week)
        for application in applications
        for finding in check_application(application, planting)
    ]
    findings += check_totals(applications, history)
    findings += check_actives(applications, history)
    findings += check_intervals(applications, history)
    findings += check_separations(applications, history)
    findings += check_resistance(applications, history, generation_days=generation_days)
    findings += _labels_read(applications)
    if lots is not None:
        findings += check_stock(applications, lots)
    if certificates is not None:
        findings += _certificates(applications, planting, certificates, today)
    return in_order(findings)


def check_application(
    application: PlannedApplication, planting: PlantingFacts | None = None
) -> list[Finding]:
    """Return what one application says by itself; its findings have no week yet."""
    if planting is None:
        return _of_the_product(application)
    return check_any_day(application, planting) + check_that_day(application, planting)


def check_any_day(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return what one application says on a planting whatever its day is."""
    product = application.product
    return [
        *_of_the_product(application),
        *check_site(application, planting),
        *check_rate(application, planting.plant_group),
        *check_organic(product, planting),
        *check_distances(product, planting),
        *check_sensitive_plants(product, planting),
        *check_drought(product, planting),
        *check_spreader(application, planting),
    ]


def check_that_day(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return what one application says on a planting because of its day or hour."""
    return check_preharvest(application, planting) + check_pollinators(application, planting)


def _of_the_product(application: PlannedApplication) -> list[Finding]:
    return check_amount(application) + check_water_ph(application.product, application.water_ph)


def _labels_read(applications: Iterable[PlannedApplication]) -> list[Finding]:
    """Return what looks odd in the copies of the labels, once a label, in its first week."""
    return [
        finding.in_week(application.week)
        for application in _first_of_each(applications)
        for finding in _odd(application.product)
    ]


def _odd(product: ProductFacts) -> list[Finding]:
    return check_reentry_plausible(product) + check_protection(product)


def _first_of_each(applications: Iterable[PlannedApplication]) -> Iterable[PlannedApplication]:
    firsts: dict[str, PlannedApplication] = {}
    for application in sorted(applications, key=lambda each: each.day):
        firsts.setdefault(application.product.label_key(), application)
    return firsts.values()


def _certificates(
    applications: Sequence[PlannedApplication],
    planting: PlantingFacts | None,
    certificates: Sequence[CertificateFacts],
    today: date | None,
) -> list[Finding]:
    findings = [
        finding
        for certificate in certificates
        if today is not None
        for finding in check_lapsing(certificate, today)
    ]
    if planting is None or not planting.jurisdiction:
        return findings
    return findings + [
        finding.in_week(application.week)
        for application in applications
        for finding in check_certificates(
            certificates,
            application.product,
            jurisdiction=planting.jurisdiction,
            day=application.day,
            plant_group=planting.plant_group,
        )
    ]


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings by week, the gravest of each week first; those of no week stand first."""
    return sorted(findings, key=lambda each: (each.week or 0, ORDER.index(each.severity)))


def by_week(findings: Iterable[Finding]) -> dict[int | None, list[Finding]]:
    """Return findings under the week they speak of; None holds those of the whole.

    >>> by_week([])
    {}
    """
    weeks: dict[int | None, list[Finding]] = defaultdict(list)
    for finding in findings:
        weeks[finding.week].append(finding)
    return dict(weeks)
