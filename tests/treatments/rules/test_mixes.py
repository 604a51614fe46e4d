"""Mixes that the book and the phone share, against figures that others worked out."""

import pytest

from tests.mixes import CASES, told


@pytest.mark.parametrize("case", CASES, ids=[case["says"] for case in CASES])
def test_a_mix_is_as_its_source_says(case):
    assert is_told(case["told"], told(case["asked"]))


def is_told(expected, found):
    """Say whether what a case names is found as it says; it need not name everything."""
    if isinstance(expected, dict):
        return all(is_told(value, found.get(name)) for name, value in expected.items())
    if isinstance(expected, list):
        return len(expected) == len(found) and all(map(is_told, expected, found))
    return expected == found
