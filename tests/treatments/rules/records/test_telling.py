"""How far a rule set is sure, fact by fact, and what of it is told in words."""

import pytest

from treatments.rules.records import facts_told
from treatments.rules.records.rulesets import fingerprint_of, ruleset_of


def notice_of(state):
    return next(each for each in facts_told(ruleset_of(state)) if each.fact == "notice")


@pytest.mark.parametrize(
    ("state", "mark"),
    [
        ("NY", "read"),  # [NY-ECL-33] was read
        ("PA", "memory"),  # one of the notices of [PA-128-35] was, the other was not
    ],
)
def test_notices_are_as_sure_as_the_least_sure_of_them(state, mark):
    assert notice_of(state).mark == mark


def test_who_is_told_is_a_word_that_is_translated():
    told = {line.values: line.is_word for line in notice_of("OH").lines}

    assert told[("abutting residents who asked in writing",)]  # [OH-901-5-11]


def test_a_fingerprint_has_eight_digits():
    # our own choice; records keep it in the version of their rule set
    assert len(fingerprint_of({"retention_years": 3})) == 8
