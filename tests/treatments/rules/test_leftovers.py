"""What is done with leftovers."""

import pytest

from treatments.rules.leftovers import Leftover, NotBackIntoContainer, advice_on, refuse_diluted


@pytest.mark.parametrize("leftover", Leftover)
def test_the_label_comes_first(leftover):
    assert advice_on(leftover)[0].source == "label"


@pytest.mark.parametrize("leftover", [Leftover.MIX, Leftover.TANK_RINSE])
def test_nothing_goes_into_a_drain(leftover):
    # Never to drain or ground: the advice of [IL-RINSING].
    assert any(
        "drain" in each.sentence and each.source == "IL-RINSING" for each in advice_on(leftover)
    )


def test_what_was_mixed_with_water_does_not_go_back():
    refuse_diluted(is_undiluted=True)
    with pytest.raises(NotBackIntoContainer):
        refuse_diluted(is_undiluted=False)
