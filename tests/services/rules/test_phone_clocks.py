"""Ids made on a phone, the skew of its clock, and numbers that never came."""

import pytest

from services.rules.phone_clocks import gaps_in, is_uuid7


def test_the_published_example_of_version_7_is_one():
    # [RFC9562] appendix A.6
    assert is_uuid7("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")


@pytest.mark.parametrize(
    "text",
    [
        "919108f7-52d1-4320-9bac-f847db4148a8",  # [RFC9562] appendix A.3: version 4
        "1ec9414c-232a-6b00-b3c8-9f6bdeced846",  # [RFC9562] appendix A.5: version 6
        "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",  # the variant of another standard
        "017f22e279b07cc398c4dc0c0c07398f",
        "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}",
        "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398",
        "",
        "seven",
    ],
)
def test_every_other_text_is_none(text):
    assert not is_uuid7(text)


@pytest.mark.parametrize(
    ("seen", "last", "gaps"),
    [
        (set(), 0, []),
        ({1, 2, 3}, 3, []),
        ({3}, 3, [(1, 2)]),
        ({1, 3, 7}, 7, [(2, 2), (4, 6)]),
        ({1}, 2, [(2, 2)]),
    ],
)
def test_what_never_came_is_told_run_by_run(seen, last, gaps):
    assert gaps_in(seen, last) == gaps
