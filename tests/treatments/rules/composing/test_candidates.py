"""What is said of a product in a week by itself, and what bars it there."""

from decimal import Decimal

import pytest

from treatments.rules.composing import Wishes
from treatments.rules.composing.candidates import candidates_of
from treatments.rules.composing.families import Family


@pytest.fixture
def said(codes):
    """Return the codes of what is said of the first candidate of a season, and what bars it."""

    def build(season):
        candidate = candidates_of(season)[0]
        return codes(candidate.findings), candidate.bars

    return build


def test_an_amount_of_which_a_label_limits_a_year_is_asked_for(a_season, an_offer, said):
    # a gallon of spray comes to no known amount on the ground
    limited = an_offer("Soap", changes={"maximum_amount_per_year": Decimal(4)})

    assert said(a_season(limited)) == (["amount-unknown"], {Family.WARNINGS})


def test_what_is_above_a_year_at_once_is_told_by_the_rows_and_bars_no_week(
    a_season, an_offer, said
):
    changes = {"maximum_amount_per_year": Decimal(4)}
    heavy = an_offer("Soap", changes=changes, amount_per_1000_sq_ft=Decimal(5))

    assert said(a_season(heavy)) == ([], frozenset())


def test_a_wish_that_was_given_up_is_told_and_counts_as_no_warning(a_season, an_offer, codes):
    wishes = Wishes(
        organic_only=True, without_warnings=False, given_up=frozenset({Family.ORGANIC_WISH})
    )

    candidate = candidates_of(a_season(an_offer("Soap"), wishes=wishes))[0]

    assert codes(candidate.findings) == ["organic-wished"]
    assert (candidate.bars, candidate.warnings) == (frozenset(), 0)


@pytest.mark.parametrize(
    ("place", "held", "found"),
    [
        ("US-PA", None, []),
        ("US-PA", (), ["no-certificate"]),
        ("", (), []),
    ],
)
def test_certificates_are_asked_for_where_they_and_the_place_are_known(
    a_season, an_offer, a_planting, said, place, held, found
):
    season = a_season(an_offer("Soap"), planting=a_planting(jurisdiction=place), certificates=held)

    assert said(season)[0] == found
