"""Which rate is taken within a label's range, and why."""

from decimal import Decimal

import pytest

from treatments.rules.rate_choice import LabelRange, RateWish, choose_rate

SOAP = LabelRange("Soap", Decimal(1), Decimal(2), "fl oz/gal")


# heavier than the threshold takes more, twice the threshold the most: common practice
@pytest.mark.parametrize(
    ("times", "rate"),
    [
        (None, 1),
        (0.5, 1),
        (1.0, 1),
        (1.01, Decimal("1.5")),
        (1.99, Decimal("1.5")),
        (2.0, 2),
        (9, 2),
    ],
)
def test_a_heavier_count_takes_a_higher_rate(times, rate):
    assert choose_rate(SOAP, RateWish.BY_COUNT, times_threshold=times).rate == rate


@pytest.mark.parametrize(
    ("wish", "rate"), [("lowest", 1), ("middle", Decimal("1.5")), ("highest", 2)]
)
def test_what_is_asked_is_taken_with_a_sentence(wish, rate):
    chosen = choose_rate(SOAP, RateWish(wish), times_threshold=9)

    assert chosen.rate == rate
    assert "as asked" in chosen.why.say()
    assert chosen.why.source == "common practice"


@pytest.mark.parametrize("own", [Decimal(1), Decimal("1.25"), Decimal(2)])
def test_a_persons_own_rate_is_taken_within_the_label_and_at_its_ends(own):
    chosen = choose_rate(SOAP, RateWish.HIGHEST, own=own)

    assert (chosen.rate, chosen.why.code) == (own, "rate-own")
    assert chosen.why.source == "label"


# a rate above the label is unlawful [7USC136]
@pytest.mark.parametrize("own", [Decimal("0.999"), Decimal("2.001")])
def test_a_rate_outside_the_label_is_not_taken_and_said(own):
    chosen = choose_rate(SOAP, RateWish.LOWEST, own=own)

    assert (chosen.rate, chosen.why.code) == (1, "rate-outside")


def test_where_the_label_gives_but_one_rate_there_is_nothing_to_say():
    only = LabelRange("Oil", Decimal(2), Decimal(2), "fl oz/gal")

    assert choose_rate(only, RateWish.HIGHEST).why is None


def test_the_middle_never_passes_the_label():
    thirds = LabelRange("Oil", Decimal("0.001"), Decimal("0.002"), "fl oz/gal")

    assert choose_rate(thirds, RateWish.MIDDLE).rate == Decimal("0.001")
