"""Certificates that lapsed, were suspended or changed after a visit was given to a crew."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from clients.loaded import all_of
from services.crew_certificates import certificates_that_count
from services.dispatching import findings as said
from services.mixing import reaching
from services.models import Crew, Visit
from treatments.gathering import certificate_facts, sprayer_as_certified
from treatments.rules.certificates import Sprayer, check_certificates, limited_sprays_with
from treatments.rules.facts import ProductFacts
from treatments.rules.findings import Finding, Severity


def against_its_crew(visit: Visit, crew: Crew, day: date, label: ProductFacts) -> list[Finding]:
    """Return why nobody of a crew may apply what a visit on its route sprays, the whole first.

    day: of the route; a certificate holds through its last day
    label: of the product that the visit sprays
    """
    product = visit.rotation_week.product
    if product is None or not product.certificate_category or not visit.is_open():
        return []
    place = visit.course.property.jurisdiction
    counting = certificates_that_count(crew, day, restricted_use=product.restricted_use)
    held = [certificate_facts(each) for each in counting]
    sprayer = smallest_sprayer(visit, [crew], place)
    found = {
        finding.code: replace(finding, week=visit.week)
        for group in sorted({each.plant_group for each in all_of(visit.course, "plantings")})
        for finding in check_certificates(
            held, label, jurisdiction=place, day=day, plant_group=group, sprayer=sprayer
        )
        if finding.severity is Severity.REFUSAL
    }
    if not found:
        return []
    why = [finding for code, finding in found.items() if code != "no-certificate"]
    return [said.crew_not_certified(visit, product, crew, day), *why]


def smallest_sprayer(visit: Visit, crews: Iterable[Crew], jurisdiction: str) -> Sprayer | None:
    """Return a sprayer that a limited certificate of a place allows, else any that reaches."""
    sprayers = [sprayer_as_certified(each) for crew in crews for each in reaching(visit, crew)]
    fitting = [each for each in sprayers if limited_sprays_with(jurisdiction, each)]
    return next(iter(fitting or sprayers), None)
