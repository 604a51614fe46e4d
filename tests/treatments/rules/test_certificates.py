"""Who may apply a product, where, and until when."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.certificates import (
    Sprayer,
    check_certificates,
    check_lapsing,
    check_limited,
    check_supervision,
    limited_allows,
    limited_sprays_with,
)
from treatments.rules.facts import CertificateFacts, LearnerFacts, SignalWord, Standing
from treatments.rules.findings import Severity

LAST_DAY = date(2026, 6, 30)
HELD = CertificateFacts("R. Vole", "US-PA", frozenset({"ornamental and turf"}), LAST_DAY)


def judged(product, *certificates, day=LAST_DAY, jurisdiction="US-PA"):
    return check_certificates(certificates, product, jurisdiction=jurisdiction, day=day)


@pytest.fixture
def ornamental(a_product):
    """Return a product for ornamental and turf pest control."""
    # [40CFR171-101] the category for ornamental plants and turf
    return a_product(certificate_category="ornamental and turf")


@pytest.mark.parametrize(
    ("day", "code"), [(LAST_DAY, []), (LAST_DAY + timedelta(1), ["certificate-expired"])]
)
def test_a_certificate_holds_through_its_last_day(ornamental, codes, day, code):
    assert codes(judged(ornamental, HELD, day=day)) == code


def test_a_certificate_does_not_hold_before_its_issue(ornamental, codes):
    issued = replace(HELD, issued_on=LAST_DAY)

    assert codes(judged(ornamental, issued, day=LAST_DAY - timedelta(1))) == [
        "certificate-not-issued"
    ]


def test_a_certificate_holds_from_the_day_of_its_issue(ornamental):
    # common practice
    assert judged(ornamental, replace(HELD, issued_on=LAST_DAY)) == []


def test_a_certificate_holds_in_its_own_state_only(ornamental, codes):
    assert codes(judged(ornamental, HELD, jurisdiction="US-NJ")) == ["no-certificate"]


def test_the_category_must_be_held(a_product, codes):
    assert codes(judged(a_product(certificate_category="aquatic"), HELD)) == ["category-not-held"]


def test_one_of_a_crew_is_enough(ornamental):
    expired = replace(HELD, expires_on=date(2026, 1, 1))

    assert judged(ornamental, expired, HELD) == []


def test_a_supervised_technician_is_noted(ornamental):
    # [40CFR171-201] immediate contact with the supervisor, from memory
    (finding,) = judged(ornamental, replace(HELD, standing=Standing.SUPERVISED))

    assert finding.severity is Severity.NOTE
    assert "supervisor is reachable" in finding.say()


@pytest.mark.parametrize(
    ("days", "step"),
    [(61, None), (60, 60), (31, 60), (30, 30), (8, 30), (7, 7), (0, 7), (-1, None)],
)
def test_a_lapse_is_told_60_30_and_7_days_before(days, step):
    # common practice
    findings = check_lapsing(HELD, LAST_DAY - timedelta(days))

    assert [each.facts["step"] for each in findings] == ([step] if step else [])


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({}, []),
        ({"signal_word": SignalWord.WARNING}, ["limited-word"]),
        ({"signal_word": SignalWord.NONE}, ["limited-word"]),
    ],
)
def test_floridas_limited_certificate_allows_caution_only(a_product, codes, changes, code):
    # [FL-482] only products with the signal word CAUTION
    limited = replace(HELD, jurisdiction="US-FL", standing=Standing.LIMITED)

    assert codes(check_limited(limited, a_product(**changes))) == code


@pytest.mark.parametrize(
    ("kind", "gallons", "powered", "allowed"),
    [
        ("hand", "3", False, True),
        ("hand", "3.1", False, False),
        ("backpack", "5", False, True),
        ("backpack", "5.1", False, False),
        ("backpack", "4", True, False),
        ("skid", "1", False, False),
    ],
)
def test_floridas_limited_certificate_allows_small_hand_equipment(
    a_product, kind, gallons, powered, allowed
):
    # [FL-482] hand sprayer to 3 gal, backpack to 5 gal, no power equipment
    limited = replace(HELD, jurisdiction="US-FL", standing=Standing.LIMITED)
    sprayer = Sprayer(kind, Decimal(gallons), powered)

    assert (check_limited(limited, a_product(), sprayer=sprayer) == []) is allowed


def test_a_limited_certificate_says_which_signal_word_it_does_not_allow(a_product):
    # [FL-482] only products with the signal word CAUTION
    limited = replace(HELD, jurisdiction="US-FL", standing=Standing.LIMITED)

    (finding,) = check_limited(limited, a_product(signal_word=SignalWord.WARNING))

    assert "WARNING" in finding.say()


def test_of_a_limited_certificate_whose_limits_are_not_known_nothing_is_refused():
    sprayer = Sprayer("skid", Decimal(100), powered=True)

    assert limited_allows("US-PA", "DANGER", ["lawn"])
    assert limited_sprays_with("US-PA", sprayer)


def test_floridas_limited_certificate_sprays_with_no_powered_equipment():
    # [FL-482] no power equipment
    assert not limited_sprays_with("US-FL", Sprayer("skid", Decimal(100), powered=True))


def test_floridas_limited_certificate_is_not_for_lawns(a_product, codes):
    # [FL-482] ornamentals only
    limited = replace(HELD, jurisdiction="US-FL", standing=Standing.LIMITED)

    assert codes(check_limited(limited, a_product(), plant_group="lawn")) == ["limited-site"]


def held(**others):
    return CertificateFacts(
        "A. Holder",
        "US-PA",
        frozenset({"ornamental and turf"}),
        date(2027, 12, 31),
        **others,
    )


@pytest.mark.parametrize(
    ("day", "refused"),
    [
        (date(2026, 5, 31), False),
        (date(2026, 6, 1), True),
        (date(2026, 6, 30), True),
        (date(2026, 7, 1), False),
    ],
)
def test_a_suspended_certificate_does_not_hold_until_it_is_in_force_again(ornamental, day, refused):
    # common practice: the day of suspension counts, the day of reinstatement does not
    certificate = held(suspended_from=date(2026, 6, 1), reinstated_on=date(2026, 7, 1))

    found = check_certificates([certificate], ornamental, jurisdiction="US-PA", day=day)

    assert [finding.code for finding in found] == ["certificate-suspended"] * refused


def test_a_suspension_without_end_goes_on(ornamental):
    certificate = held(suspended_from=date(2026, 6, 1))

    found = check_certificates(
        [certificate], ornamental, jurisdiction="US-PA", day=date(2027, 6, 1)
    )

    assert found[0].code == "certificate-suspended"


@pytest.mark.parametrize(
    ("restricted", "expected"), [(True, ["certificate-restricted-use"]), (False, [])]
)
def test_a_certificate_may_bar_restricted_use(ornamental, restricted, expected):
    product = replace(ornamental, restricted_use=restricted)
    certificate = held(bars_restricted_use=True)

    found = check_certificates([certificate], product, jurisdiction="US-PA", day=date(2026, 6, 1))

    assert [finding.code for finding in found] == expected


def test_a_certificate_for_own_property_does_not_hold_at_a_clients(ornamental):
    certificate = held(own_property_only=True)

    found = check_certificates(
        [certificate], ornamental, jurisdiction="US-PA", day=date(2026, 6, 1)
    )

    assert [finding.code for finding in found] == ["certificate-own-property"]


@pytest.mark.parametrize(
    ("word", "groups", "allowed"),
    [("CAUTION", ["rose"], True), ("WARNING", ["rose"], False), ("CAUTION", ["lawn"], False)],
)
def test_floridas_limited_certificate_is_for_ornamentals_and_caution(word, groups, allowed):
    # [FL-482] 482.156, text of 2019
    assert limited_allows("US-FL", word, groups) == allowed


def learner(**others):
    trained = {"trained_on": date(2026, 2, 1), "trained_until": date(2027, 2, 1)}
    return LearnerFacts(
        **{"name": "L. Earner", "supervisor": "A. Holder", "supervisor_is_certified": True}
        | trained
        | others
    )


@pytest.mark.parametrize(
    ("day", "codes"),
    [
        (date(2026, 1, 31), ["training-lapsed"]),
        (date(2026, 2, 1), []),
        (date(2027, 2, 1), []),
        (date(2027, 2, 2), ["training-lapsed"]),
    ],
)
def test_training_is_of_the_last_twelve_months(day, codes):
    # [40CFR171-201] training within the last twelve months; from memory
    found = check_supervision(learner(), jurisdiction="US-PA", day=day, restricted_use=True)

    assert [finding.code for finding in found] == codes


def test_without_proof_of_training_restricted_use_is_refused_and_other_use_warned_of():
    # [40CFR171-201] the duty is that of restricted-use products
    facts = learner(trained_on=None, trained_until=None)
    told = {"jurisdiction": "US-PA", "day": date(2026, 6, 1)}

    restricted = check_supervision(facts, restricted_use=True, **told)
    other = check_supervision(facts, restricted_use=False, **told)

    assert [each.severity for each in (*restricted, *other)] == ["refusal", "warning"]


@pytest.mark.parametrize("unknown", ["trained_on", "trained_until"])
def test_a_training_of_which_one_day_is_not_known_is_not_proved(unknown):
    # [40CFR171-201] the proof of a training within the last twelve months is kept
    found = check_supervision(
        learner(**{unknown: None}),
        jurisdiction="US-PA",
        day=date(2026, 6, 1),
        restricted_use=True,
    )

    assert [finding.code for finding in found] == ["training-missing"]


@pytest.mark.parametrize("facts", [{"supervisor": ""}, {"supervisor_is_certified": False}])
def test_somebody_certified_is_named_who_answers_for_it(facts):
    found = check_supervision(
        learner(**facts), jurisdiction="US-PA", day=date(2026, 6, 1), restricted_use=False
    )

    assert [finding.code for finding in found] == ["no-supervisor"]
