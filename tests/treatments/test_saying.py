"""Facts and flags in the forms of the language that is spoken."""

from datetime import UTC, date, datetime

import pytest
from django.utils import translation
from django.utils.translation import gettext

from clients.models import PlantGroup
from treatments import saying
from treatments.gathering import product_facts
from treatments.recording import flag_of
from treatments.rules.certificates import check_certificates
from treatments.rules.findings import Counted, Finding, Marked, Severity
from treatments.rules.table_words import CITATIONS, SITES
from treatments.saying import cited, say_flag, told


@pytest.mark.parametrize(
    ("fact", "en", "es"),
    [
        (date(2026, 7, 6), "Jul 6, 2026", "6 jul 2026"),
        (datetime(2026, 7, 6, 18, 40, tzinfo=UTC), "Jul 6, 2026, 18:40", "6 jul 2026, 18:40"),
        ("2026-07-06", "Jul 6, 2026", "6 jul 2026"),
        ("2026-07-06 18:40 EDT", "Jul 6, 2026, 18:40 EDT", "6 jul 2026, 18:40 EDT"),
        ("lot 2026-07-061", "lot 2026-07-061", "lot 2026-07-061"),
        ("US-PA", "Pennsylvania", "Pensilvania"),  # [ISO 3166-2]
        ("US-VT", "Vermont", "Vermont"),
        ("US-ZZ", "US-ZZ", "US-ZZ"),
        ("lot US-PA", "lot US-PA", "lot US-PA"),
    ],
)
def test_a_day_or_a_state_is_told_in_the_form_of_the_reader(fact, en, es):
    for language, expected in (("en", en), ("es", es)):
        with translation.override(language):
            assert told(fact).replace("\xa0", " ") == expected


def test_what_is_marked_and_holds_no_day_stays_marked():
    name = Marked("spider mite")

    assert told(name) is name


def test_every_group_of_plants_is_a_site_that_is_marked_for_the_translators():
    assert set(PlantGroup.values) == set(SITES)


def test_a_flag_tells_its_days_in_the_form_of_the_reader():
    flag = {"sentence": "Lot %(lot)s had expired on %(expires)s.", "facts": {"lot": "S-1"}}
    flag["facts"]["expires"] = "2026-07-06"

    with translation.override("en"):
        assert say_flag(flag).replace("\xa0", " ") == "Lot S-1 had expired on Jul 6, 2026."


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "Nobody here holds a certificate of Pennsylvania."),
        ("es", "Aquí nadie tiene un certificado de Pensilvania."),
    ],
)
def test_what_is_said_of_certificates_names_the_state(soap, language, said):
    label = product_facts(soap)
    (finding,) = check_certificates([], label, jurisdiction="US-PA", day=date(2026, 7, 6))

    with translation.override(language):
        assert (finding.say(gettext, told), say_flag(flag_of(finding))) == (said, said)
    assert finding.facts["jurisdiction"] == "US-PA"  # programs are told the code


@pytest.mark.parametrize(("days", "said"), [(1, "1 day ago."), (2, "2 days ago.")])
def test_a_flag_is_kept_in_the_number_of_what_it_counts(days, said):
    sentence = Counted("%(days)s days ago.", "%(days)s day ago.", "days")
    finding = Finding("late", Severity.WARNING, sentence, facts={"days": days})

    flag = flag_of(finding)

    assert flag["sentence"] % flag["facts"] == finding.say() == said


def test_words_beside_the_numbers_of_a_rule_are_told_in_the_language_of_the_reader(monkeypatch):
    monkeypatch.setattr(saying, "_", lambda text: text.replace("(and", "(y"))
    (of_new_jersey,) = (each for each in CITATIONS if each.startswith("N.J.A.C."))

    assert cited(f"ORS 634.146 / {of_new_jersey}").endswith(
        " / N.J.A.C. 7:30-7.3, 7:30-9.13 (y 7:30-8.8)"
    )
    assert told(of_new_jersey) == cited(of_new_jersey)
    assert cited("A code of our own (and its appendix)") == "A code of our own (and its appendix)"
