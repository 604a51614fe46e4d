"""When predators can be released, and what would spoil the release."""

from datetime import date, timedelta

import pytest

from treatments.rules.beneficials import (
    Air,
    beneficials_against,
    check_after_release,
    check_release,
    days_to_wait,
    harms_for_long,
    predators_against,
    release_window,
)
from treatments.rules.facts import IngredientFacts, PastApplication

TODAY = date(2026, 6, 15)
MITE = "two-spotted spider mite"


@pytest.fixture
def persimilis():
    return beneficials_against(MITE)[0]


@pytest.fixture
def of_active(a_product):
    def build(*names):
        return a_product(
            " and ".join(names), ingredients=tuple(IngredientFacts(name) for name in names)
        )

    return build


@pytest.mark.parametrize(
    ("active", "days"),
    [  # common practice
        ("insecticidal soap (potassium salts of fatty acids)", 1),
        ("azadirachtin", 3),
        ("bifenazate", 3),
        ("spinosad", 7),
        ("abamectin", 21),
        ("malathion", 28),
        ("bifenthrin", 56),
        ("an unknown one", None),
    ],
)
def test_residues_are_waited_for(of_active, active, days):
    assert days_to_wait(of_active(active)) == days


def test_the_longest_wait_of_a_mixture_counts(of_active):
    assert days_to_wait(of_active("azadirachtin", "abamectin")) == 21
    assert days_to_wait(of_active("abamectin", "an unknown one")) is None


@pytest.mark.parametrize(
    ("active", "long"),
    [("abamectin", True), ("permethrin", True), ("bifenazate", False), ("azadirachtin", False)],
)
def test_what_harms_natural_enemies_for_long(of_active, active, long):
    # [UC-IPM-BEES] abamectin, bifenthrin and permethrin long; bifenazate intermediate
    assert harms_for_long(of_active(active)) is long


@pytest.mark.parametrize(("days_ago", "wait"), [(20, 1), (21, 0), (22, 0)])
def test_a_release_opens_when_the_residue_is_gone(persimilis, of_active, days_ago, wait):
    past = PastApplication(TODAY - timedelta(days=days_ago), of_active("abamectin"))

    window = release_window(persimilis, MITE, 1, [past], TODAY)

    assert window.opens == TODAY + timedelta(days=wait)
    assert ("residue-left" in [each.code for each in window.findings]) is bool(wait)


def test_an_unknown_residue_is_taken_for_four_weeks(persimilis, of_active):
    past = PastApplication(TODAY, of_active("an unknown one"))

    window = release_window(persimilis, MITE, 1, [past], TODAY)

    assert window.opens == TODAY + timedelta(days=28)
    assert "is not known; 28 days are taken" in window.findings[1].say()


@pytest.mark.parametrize(
    ("per_leaf", "code"),
    [
        (0.01, "too-few-to-release"),
        (0.2, "right-to-release"),  # [PNW-SPIDER-MITE] one mite on five leaves
        (0.21, "too-many-to-release"),
    ],
)
def test_fallacis_is_released_at_one_mite_on_five_leaves(per_leaf, code):
    fallacis = beneficials_against("spruce spider mite")[0]

    window = release_window(fallacis, "spruce spider mite", per_leaf, [], TODAY)

    assert window.findings[0].code == code
    assert window.suits is (code == "right-to-release")


@pytest.mark.parametrize(
    ("per_leaf", "code"), [(0.049, "too-few-to-release"), (0.05, "right-to-release")]
)
def test_persimilis_is_released_from_a_mite_on_twenty_leaves(persimilis, per_leaf, code):
    # common practice
    window = release_window(persimilis, MITE, per_leaf, [], TODAY)

    assert window.findings[0].code == code


@pytest.mark.parametrize(
    ("temperature", "humidity", "codes"),
    [
        (75, 70, []),
        (67, 70, ["not-at-its-best"]),
        (68, 60, []),
        (81, 70, []),
        (82, 60, ["not-at-its-best"]),
        (86, 70, ["too-hot-to-release"]),
        (75, 59, ["too-dry-to-release"]),
        (None, None, []),
    ],
)
def test_the_air_suits_a_release_or_not(persimilis, temperature, humidity, codes):
    # common practice: 68 to 81 F and 60 % or more; from 86 F on it falls behind
    window = release_window(persimilis, MITE, 1, [], TODAY, Air(temperature, humidity))

    assert [each.code for each in window.findings[1:]] == codes


@pytest.mark.parametrize(("days", "count"), [(-1, 0), (0, 1), (42, 1), (43, 0)])
def test_for_six_weeks_no_long_residue_follows(persimilis, of_active, a_week, days, count):
    visit = a_week(3, TODAY + timedelta(days=days), of_active("bifenthrin"))

    findings = check_after_release(persimilis.name, TODAY, [visit])

    assert [each.week for each in findings] == [3] * count


def test_soap_may_follow_a_release(persimilis, of_active, a_week):
    visit = a_week(1, TODAY, of_active("insecticidal soap"))

    assert check_after_release(persimilis.name, TODAY, [visit]) == []


@pytest.mark.parametrize(
    ("active", "days_ago", "count"),
    [  # common practice: soap one day, abamectin 21, bifenthrin 56
        ("insecticidal soap", 0, 1),
        ("insecticidal soap", 1, 0),
        ("abamectin", 20, 1),
        ("abamectin", 21, 0),
        ("bifenthrin", 55, 1),
        ("bifenthrin", -1, 0),  # what follows is another check
    ],
)
def test_a_release_meets_what_was_applied_before_it(of_active, active, days_ago, count):
    past = PastApplication(TODAY - timedelta(days=days_ago), of_active(active))

    findings = check_release(predators_against(MITE), TODAY, [past])

    assert [each.code for each in findings] == ["residue-left"] * count
    assert all("Phytoseiulus persimilis" in each.say() for each in findings)


def test_against_a_pest_without_a_known_predator_all_are_named_together():
    assert predators_against("euonymus scale") == "natural enemies"
