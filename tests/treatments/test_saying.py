"""Facts and flags in the forms of the language that is spoken."""

from datetime import UTC, date, datetime

import pytest
from django.utils import translation

from clients.models import PlantGroup
from treatments.recording import flag_of
from treatments.rules.findings import Counted, Finding, Marked, Severity
from treatments.rules.table_words import SITES
from treatments.saying import say_flag, told


@pytest.mark.parametrize(
    ("fact", "en", "es"),
    [
        (date(2026, 7, 6), "Jul 6, 2026", "6 jul 2026"),
        (datetime(2026, 7, 6, 18, 40, tzinfo=UTC), "Jul 6, 2026, 18:40", "6 jul 2026, 18:40"),
        ("2026-07-06", "Jul 6, 2026", "6 jul 2026"),
        ("2026-07-06 18:40 EDT", "Jul 6, 2026, 18:40 EDT", "6 jul 2026, 18:40 EDT"),
        ("lot 2026-07-061", "lot 2026-07-061", "lot 2026-07-061"),
    ],
)
def test_a_day_is_told_in_the_form_of_the_reader(fact, en, es):
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


@pytest.mark.parametrize(("days", "said"), [(1, "1 day ago."), (2, "2 days ago.")])
def test_a_flag_is_kept_in_the_number_of_what_it_counts(days, said):
    sentence = Counted("%(days)s days ago.", "%(days)s day ago.", "days")
    finding = Finding("late", Severity.WARNING, sentence, facts={"days": days})

    flag = flag_of(finding)

    assert flag["sentence"] % flag["facts"] == finding.say() == said
