"""Who of a crew may apply at a stop, told ahead, so that the phone says it without signal."""

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext

from services.models import Dispatch, Visit
from treatments.gathering import certificate_facts, product_facts, sprayer_as_certified
from treatments.models import Applicator, Certificate, Sprayer
from treatments.naming import in_words
from treatments.rules.certificates import check_certificates, check_supervision
from treatments.rules.facts import LearnerFacts
from treatments.rules.findings import Finding, Severity

Told = dict[str, Any]


def standing_of(person: Applicator, visit: Visit, route: Dispatch, sprayer: Sprayer | None) -> Told:
    """Return how a person stands at a stop that sprays: alone, and as who answers for another.

    is_certified: whether a certificate of the place holds that day, whatever it covers
    alone: what stands against applying; of who is not certified, against the training
    over: what stands against answering for somebody
    """
    place = visit.course.property.jurisdiction
    held = list(person.certificates.all())
    for each in held:
        each.applicator = person  # whose name the rules tell, without asking for it again
    there = [each for each in held if each.jurisdiction == place and each.holds_on(route.day)]
    over = _against(held, visit, route, sprayer)
    alone = over if there else _against_learner(person, visit, route)
    return {
        "id": person.pk,
        "is_certified": bool(there),
        "number": there[0].number if there else "",
        "alone": _told(alone),
        "over": _told(over),
    }


def _against(
    held: Sequence[Certificate], visit: Visit, route: Dispatch, sprayer: Sprayer | None
) -> list[Finding]:
    found = (
        check_certificates(
            [certificate_facts(each) for each in held],
            product_facts(visit.rotation_week.sprayed_product()),
            jurisdiction=visit.course.property.jurisdiction,
            day=route.day,
            plant_group=group,
            sprayer=sprayer_as_certified(sprayer) if sprayer else None,
        )
        for group in sorted({each.plant_group for each in visit.course.plantings.all()})
    )
    return [finding for findings in found for finding in findings]


def _against_learner(person: Applicator, visit: Visit, route: Dispatch) -> list[Finding]:
    """Return what is wrong with the training; who answers is named on the phone."""
    found = check_supervision(
        LearnerFacts(
            name=person.name,
            supervisor="",
            supervisor_is_certified=False,
            trained_on=person.trained_on,
            trained_until=person.trained_until(),
        ),
        jurisdiction=visit.course.property.jurisdiction,
        day=route.day,
        restricted_use=visit.rotation_week.sprayed_product().restricted_use,
    )
    return [finding for finding in found if finding.code != "no-supervisor"]


def _told(found: Sequence[Finding]) -> list[Told]:
    """Return findings in both languages, each sentence once; notes are left out."""
    told: dict[str, Told] = {}
    for finding in found:
        if finding.severity is not Severity.NOTE:
            told.setdefault(finding.say(), {"severity": finding.severity.value} | _said(finding))
    return list(told.values())


def _said(finding: Finding) -> Told:
    said = {}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            said[language] = finding.say(gettext, in_words)
    return said
