"""What a plan says that a stop needs, in the words of who reads it."""

import re
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.utils import translation

from services.dispatching import dispatch_day
from services.dispatching.crews import (
    allowed_by,
    calibrated,
    crew_itself,
    crews_at_work,
    needs_of,
    sprayer_name,
)
from services.models import Visit
from services.rules.plans import bare, certificate, equipment
from services.showing import needs as needs_told
from services.showing.needs import in_each_language, needs_in_words
from services.showing.obstacles import finding_left_out
from treatments.templatetags.findings import said

NAMES = [
    allowed(reach(name))
    for name in (sprayer_name(12, False), sprayer_name(12, True))
    for reach in (str, calibrated)
    for allowed in (str, lambda name: allowed_by(name, "ornamental and turf@US-FL"))
]
TODAY = "/day/2026-07-06/"


@pytest.mark.parametrize("name", NAMES)
def test_every_name_of_a_sprayer_is_told_in_words(name):
    told = needs_in_words(bare({equipment(name)}))

    assert "reaches 12 ft" in told
    assert not re.search(r"@|\bto 12 ft|\bunder\b", told)
    assert ("calibrated" in told, "agitation" in told, "US-FL" in told) == (
        "calibrated" in name,
        "agitation" in name,
        "US-FL" in name,
    )


def test_certificates_stand_beside_the_sprayer_as_they_are():
    needs = {certificate("3a@US-PA"), equipment(sprayer_name(6, False)), crew_itself(7)}

    assert needs_in_words(bare(needs)) == (
        "3a (US-PA), the crew that has begun it, sprayer that reaches 6 ft"
    )


def test_what_a_plan_may_name_is_known_here(visits, soap, crew):
    soap.needs_agitation = True
    soap.certificate_category = "ornamental and turf"
    soap.save()
    for state in ("US-PA", "US-FL"):
        visits[0].course.property.jurisdiction = state
        for need in needs_of(visits[0]):
            assert "@" not in needs_in_words(bare({need}))


def test_each_language_has_its_own_words(monkeypatch):
    def spoken(sentence):
        return f"{translation.get_language()}: {sentence}"

    monkeypatch.setattr(needs_told, "_", spoken)

    told = in_each_language("sprayer to 4 ft")

    assert told == "sprayer to 4 ft"
    assert {language: words[:3] for language, words in told.others.items()} == {
        "en": "en:",
        "es": "es:",
    }


def test_the_reason_on_the_day_names_the_sprayer_in_words(
    client, owner, visits, soap_lot, calibration, crew, rose_bed, on_monday, reading_society
):
    reading_society.wants_notice = False
    reading_society.save()
    rose_bed.height_ft = Decimal(40)
    rose_bed.save()
    now = datetime(2026, 7, 6, 9, tzinfo=UTC)
    dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=now)
    client.force_login(owner)

    reason = finding_left_out(Visit.objects.get(pk=visits[0].pk))
    assert "sprayer that reaches 40 ft" in said(reason)
    assert "sprayer that reaches 40 ft" in client.get(TODAY).content.decode()
    assert not any(crew.truck.sprayers.filter(reach_ft__gte=40) for crew in crews_at_work())
