"""How a fact stands in a sentence."""

from decimal import Decimal

import pytest

from treatments.rules.findings import plainly


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
