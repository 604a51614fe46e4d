"""How far a rule set is sure, fact by fact, and what of it is told in words."""

from dataclasses import replace

import pytest

from treatments.rules.records import FIELDS, facts_told
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


@pytest.mark.parametrize(
    ("state", "told"),
    [
        ("PA", ["record_deadline_hours"]),  # [PA-128-35] 24 hours
        ("MN", ["record_deadline_days"]),  # [MN-18B] five days
        ("OH", ["record_deadline_hours"]),  # [OH-901-5-11] none was read: said once
    ],
)
def test_a_deadline_is_told_once_in_hours_or_in_days(state, told):
    facts = [each.fact for each in facts_told(ruleset_of(state))]

    assert [fact for fact in facts if fact.startswith("record_deadline")] == told


def test_a_deadline_in_hours_and_in_days_is_told_in_both():
    known = ruleset_of("PA")
    both = replace(known, row=known.row | {"record_deadline_days": 3})

    facts = [each.fact for each in facts_told(both)]

    assert {"record_deadline_hours", "record_deadline_days"} <= set(facts)


def test_each_fact_names_its_own_source():
    told = {each.fact: each.source for each in facts_told(ruleset_of("NJ"))}

    assert told["required_fields"] == "NJAC-7-30-7-3"
    assert told["posting"] == "NJAC-7-30-9-13"
    assert told["retention_years"] == "NJAC-7-30-8-8"
    assert told["notice"] == "NJAC-7-30-7-3"
    assert notice_of("PA").source == "PA-128-112, PA-128-85A"


def test_the_fields_of_a_record_are_told_by_their_names():
    # [MD-5-208] names the pest, [NJAC-7-30-7-3] the dilution
    lines = {
        state: [line.values[0] for line in fact.lines]
        for state in ("MD", "NJ")
        for fact in facts_told(ruleset_of(state))
        if fact.fact == "required_fields"
    }

    assert FIELDS["target_pest"] in lines["MD"]
    assert FIELDS["target_pest"] not in lines["NJ"]
    assert FIELDS["dilution"] in lines["NJ"]
