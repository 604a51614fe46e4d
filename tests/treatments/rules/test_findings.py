"""How a fact stands in a sentence."""

from decimal import Decimal

import pytest

from treatments.rules.findings import Marked, Refused, filled, plainly


@pytest.mark.parametrize(
    ("fact", "told"),
    [
        ("0.123456", "0.123456"),  # our own choice: an amount is entered in six places
        ("0.1234567", "0.1235"),
        ("1234.500000", "1234.5"),
        ("300", "300"),
    ],
)
def test_only_what_a_division_left_is_told_by_its_first_digits(fact, told):
    assert plainly(Decimal(fact)) == told


@pytest.mark.parametrize(
    ("fact", "told"),
    [
        (Marked("oil"), "aceite"),  # a word of ours
        ("oil", "oil"),  # a name that somebody gave
    ],
)
def test_only_words_of_ours_are_translated(fact, told):
    spanish = {"oil": "aceite", "%(product)s is short.": "Falta %(product)s."}

    assert filled("%(product)s is short.", {"product": fact}, spanish.get) == f"Falta {told}."


def test_a_refusal_is_said_with_its_facts_and_without_any_as_it_stands():
    assert Refused("There are %(runs)s runs.", runs=2).say() == "There are 2 runs."
    assert Refused("All 100 % are taken.").say() == "All 100 % are taken."


def test_a_name_that_is_told_in_another_way_is_not_translated():
    def tell(fact):
        return "la mezcla" if fact == "mix" else fact

    assert filled("%(what)s", {"what": Marked("mix")}, str, tell) == "la mezcla"
