"""How well a treatment worked, and when it looks like resistance."""

import pytest

from treatments.rules.efficacy import (
    Counts,
    EfficacyUnknown,
    abbott,
    change_percent,
    expected_percent,
    henderson_tilton,
    susceptibility,
    too_little,
)
from treatments.rules.population import Kill


def test_with_steady_untreated_plants_efficacy_is_the_plain_change():
    # [JEE-48] Ca = Cb leaves 1 - Ta / Tb
    assert henderson_tilton(Counts(50, 10, 30, 30)) == pytest.approx(change_percent(50, 10))


def test_where_none_is_left_the_efficacy_is_whole():
    # [JEE-48] Ta = 0 leaves 1; [JEE-18] T = 0 leaves 1
    assert henderson_tilton(Counts(120, 0, 100, 150)) == 100
    assert abbott(0.8, 0) == 100
    assert change_percent(10, 0) == 100


def test_less_than_a_mite_a_leaf_is_counted_as_well():
    # [JEE-48] 1 - 0.1 x 0.5 / (0.5 x 0.5) is 0.6
    assert henderson_tilton(Counts(0.5, 0.1, 0.5, 0.25)) == pytest.approx(60)
    assert henderson_tilton(Counts(0.5, 0.1, 0.5, 0.5)) == pytest.approx(80)
    assert change_percent(0.5, 0.25) == 50


def test_weather_that_killed_as_much_leaves_no_efficacy():
    # [JEE-48] both fell to a fifth
    assert henderson_tilton(Counts(50, 10, 30, 6)) == pytest.approx(0)


@pytest.mark.parametrize(("percent", "enough"), [(48, True), (47.9, False)])
def test_six_tenths_of_what_was_expected_is_still_enough(percent, enough):
    # common practice: less than 0.6 of 80 percent is suspected
    warning = too_little("Invented Miticide", {"6"}, percent, expected=80)

    assert (warning is None) is enough
    assert enough or warning.code == "poor-efficacy"


def test_the_second_poor_result_of_a_group_raises_suspicion():
    warning = too_little("Invented Miticide", {"6"}, 20, expected=80, poor_before=1)

    assert warning.code == "resistance-suspected"
    assert (warning.facts["group"], warning.facts["times"]) == ("6", 2)


@pytest.mark.parametrize(
    ("groups", "code"),
    [
        ({""}, "poor-efficacy"),
        ({"UNM", "UNE"}, "poor-efficacy"),
        ({"UNE", "6"}, "resistance-suspected"),
    ],
)
def test_no_mite_is_resistant_to_soap_or_oil(groups, code):
    assert too_little("Invented", groups, 20, expected=80, poor_before=3).code == code


def test_a_rise_is_a_change_below_zero():
    assert change_percent(10, 15) == -50


def test_eggs_that_are_counted_lower_what_is_expected_of_soap():
    soap = Kill(0, 0.9, 0.9, 0.9)

    assert expected_percent(soap, 1.0, eggs_share=0.5) == pytest.approx(45)


@pytest.mark.parametrize(("found", "part"), [(-20, 0), (40, 0.5), (80, 1), (95, 1)])
def test_susceptibility_is_a_part_of_what_was_expected(found, part):
    assert susceptibility(found, 80) == part
    assert susceptibility(found / 160, 0.5) == part


@pytest.mark.parametrize(
    "ask",
    [
        lambda: abbott(0, 0.2),
        lambda: henderson_tilton(Counts(10, 5)),
        lambda: henderson_tilton(Counts(0, 5, 10, 10)),
        lambda: henderson_tilton(Counts(10, 5, 0, 10)),
        lambda: henderson_tilton(Counts(10, 5, 10, 0)),
        lambda: change_percent(0, 5),
        lambda: susceptibility(10, 0),
    ],
)
def test_without_counts_there_is_no_efficacy(ask):
    with pytest.raises(EfficacyUnknown):
        ask()
