"""Which rules were read, which the business entered itself, and what was compared with the code."""

from dataclasses import replace
from hashlib import sha256

import pytest

from treatments.rules.records import (
    CONFIRMED,
    OWN,
    are_verified,
    fingerprint_of,
    ruleset_of,
    with_confirmed,
)

PENNSYLVANIA = ruleset_of("US-PA")
YEARS = "retention_years"
COMPARED = ("PA", YEARS, fingerprint_of(3))  # [PA-128-35] three years


def mark_after(ruleset, *confirmed):
    (found,) = with_confirmed([ruleset], confirmed)
    return found.mark_of(YEARS)


def test_a_fact_that_was_compared_with_the_code_is_confirmed():
    assert mark_after(PENNSYLVANIA, COMPARED) == CONFIRMED


@pytest.mark.parametrize(
    "other",
    [
        ("NJ", YEARS, fingerprint_of(3)),
        ("PA", "record_deadline_hours", fingerprint_of(24)),
        ("PA", YEARS, fingerprint_of(2)),
    ],
)
def test_what_was_compared_elsewhere_or_before_it_changed_confirms_nothing(other):
    assert mark_after(PENNSYLVANIA, other) == "memory"
    assert mark_after(PENNSYLVANIA) == "memory"


def test_an_own_rule_set_is_confirmed_by_its_version():
    own = replace(PENNSYLVANIA, mark=OWN, row=PENNSYLVANIA.row | {"key": "own-7"})

    assert (own.is_own, PENNSYLVANIA.is_own) == (True, False)
    assert mark_after(own, ("own-7", YEARS, fingerprint_of(3))) == CONFIRMED
    assert mark_after(own, COMPARED) == "memory"


def test_a_states_rules_are_verified_where_somebody_read_or_compared_its_fields():
    federal = ruleset_of("US-RUP")
    washington = ruleset_of("US-WA")  # its fields are from memory
    compared = replace(washington, confirmed=frozenset({"required_fields"}))

    assert are_verified([PENNSYLVANIA])
    assert are_verified([compared])
    assert not are_verified([washington])
    assert not are_verified([federal])
    assert not are_verified([])


def test_a_fingerprint_is_of_the_fact_and_not_of_the_order_in_which_it_is_written():
    # records keep it, so that it must stay: SHA-256 of the JSON text in UTF-8
    written = '{"a": "\u00e4", "b": 1}'

    assert fingerprint_of({"b": 1, "a": "\u00e4"}) == sha256(written.encode()).hexdigest()[:8]
