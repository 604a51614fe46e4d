"""How many leaves to look at, and what a share of infested leaves tells."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.sampling import (
    SampleUnusable,
    Unit,
    against_share_threshold,
    beats_for,
    leaves_for_count,
    leaves_for_share,
    mean_and_error,
    share_at_mean,
    share_infested,
    thresholds_of,
)


@pytest.mark.parametrize(
    ("infested", "leaves", "low", "high"),
    [  # [STATMED-17] score method, 95 %, from memory
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_interval_is_that_of_the_printed_examples(infested, leaves, low, high):
    found = share_infested(infested, leaves, 0.95)

    assert (found.low, found.high) == (pytest.approx(low, abs=6e-5), pytest.approx(high, abs=6e-5))


@given(st.integers(1, 300), st.data())
def test_the_share_lies_in_its_interval(leaves, data):
    infested = data.draw(st.integers(0, leaves))

    found = share_infested(infested, leaves)

    assert 0 <= found.low <= found.share + 1e-9
    assert found.share - 1e-9 <= found.high <= 1


@pytest.mark.parametrize(("infested", "leaves"), [(0, 0), (1, 0), (-1, 10), (11, 10)])
def test_no_more_leaves_are_infested_than_looked_at(infested, leaves):
    with pytest.raises(SampleUnusable):
        share_infested(infested, leaves)


@pytest.mark.parametrize("confidence", [0, 1])
def test_nothing_is_told_with_certainty(confidence):
    with pytest.raises(SampleUnusable):
        share_infested(1, 10, confidence)


@pytest.mark.parametrize("threshold", [0.22, 0.436])
@pytest.mark.parametrize(
    ("infested", "code"), [(0, "share-under"), (1, "share-under"), (50, "share-over")]
)
def test_fifty_leaves_tell_a_clear_case(threshold, infested, code):
    # [HILGARDIA-52-7] thresholds of almond orchards, for the arithmetic alone
    assert against_share_threshold(infested, 50, threshold).code == code


@pytest.mark.parametrize(
    ("infested", "leaves", "more"),
    [
        pytest.param(5, 20, 47 - 20, id="those that are wanting"),
        pytest.param(1, 4, 4 * 4, id="four times as many at most"),
        pytest.param(11, 45, 10, id="ten at least"),
    ],
)
def test_an_unclear_case_says_how_many_leaves_more(infested, leaves, more):
    # 1.645 ** 2 * 0.22 * 0.78 / 0.1 ** 2 are 47 leaves, from memory; the rest is our own choice
    finding = against_share_threshold(infested, leaves, 0.22)

    assert (finding.code, finding.facts["more"]) == ("share-undecided", more)


def test_the_ends_of_the_interval_are_told_in_percent():
    # of none among n the score interval ends at z ** 2 / (n + z ** 2) [STATMED-17]: 2.71 / 22.71
    facts = against_share_threshold(0, 20, 0.5).facts

    assert (facts["low"], facts["high"], facts["threshold"]) == ("0", "12", "50")
    assert against_share_threshold(0, 20, 0.75).facts["threshold"] == "75"


def test_scattered_mites_infest_as_many_leaves_as_chance_would():
    # variance equal to the mean: the share is 1 - exp(-m)
    assert share_at_mean(1, a=1.0, b=1.0) == pytest.approx(0.6321, abs=1e-4)
    assert share_at_mean(0, a=3.0, b=1.5) == 0


def test_clumped_mites_infest_fewer_leaves():
    assert share_at_mean(2, a=3.0, b=1.5) < share_at_mean(2, a=1.0, b=1.0)


def test_counting_takes_about_as_many_leaves_as_a_published_plan():
    # [JEE-106-4] 23 leaves by count at 5 mites a leaf; the a and b here are invented
    assert leaves_for_count(5, 0.25, a=3.0, b=1.5) == pytest.approx(23, abs=2)


def test_scattered_mites_take_one_leaf_over_mean_and_precision_squared():
    # textbook, from memory: with a variance equal to the mean n = 1 / (m D^2)
    assert leaves_for_count(1, 0.25, a=1.0, b=1.0) == 16


def test_finding_a_share_takes_the_textbook_number_of_leaves():
    # textbook, from memory: 385 for a half to 5 % either way at 95 %
    assert leaves_for_share(0.5, 0.05, 0.95) == 385


@pytest.mark.parametrize("share", [0, 1])
def test_a_share_of_none_or_all_has_no_spread(share):
    # P (1 - P) is nothing at both ends; [JEE-106-4] twenty are the fewest
    assert leaves_for_share(share, 0.1) == 20


@pytest.mark.parametrize(("margin", "leaves"), [(0.3, 20), (0.25, 20), (0.17, 24)])
def test_twenty_leaves_are_the_fewest(margin, leaves):
    # [JEE-106-4] twenty; 1.645 ** 2 / 4 / margin ** 2 are 8, 11 and 24
    assert leaves_for_share(0.5, margin) == leaves


@pytest.mark.parametrize(
    ("plants", "beaten", "each"), [(1, 1, 4), (3, 3, 4), (9, 9, 2), (10, 10, 1), (500, 10, 1)]
)
def test_many_plants_are_beaten_once_and_few_on_several_sides(plants, beaten, each):
    assert beats_for(plants) == {"plants": beaten, "beats_each": each}


def test_every_threshold_says_where_it_comes_from():
    levels = thresholds_of("Two-spotted spider mite")

    assert {each.unit for each in levels} == set(Unit)
    assert all(each.source for each in levels)
    assert thresholds_of("no such pest") == ()


def test_the_ends_of_a_high_share_are_told_to_the_percent():
    found = share_infested(250, 263)

    facts = against_share_threshold(250, 263, 0.5).facts

    told = [float(facts["low"]), float(facts["high"])]
    assert told == pytest.approx([100 * found.low, 100 * found.high], abs=0.5)


def test_an_error_is_that_of_the_mean_of_a_sample():
    # by hand: 1, 2 and 3 have a variance of 1, so the error is the root of a third
    assert mean_and_error([1, 2, 3]) == pytest.approx((2, (1 / 3) ** 0.5))


def test_an_error_needs_two_counts():
    with pytest.raises(SampleUnusable):
        mean_and_error([3])


@pytest.mark.parametrize(
    "ask",
    [
        lambda: leaves_for_count(0, 0.25, 3, 1.5),
        lambda: leaves_for_count(5, 0, 3, 1.5),
        lambda: leaves_for_share(1.1, 0.1),
        lambda: leaves_for_share(0.5, 0),
        lambda: share_at_mean(-1, 3, 1.5),
        lambda: share_at_mean(1, 0, 1.5),
        lambda: beats_for(0),
    ],
)
def test_samples_that_make_no_sense_are_refused(ask):
    with pytest.raises(SampleUnusable):
        ask()
