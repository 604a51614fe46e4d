"""What a visit kills at once, what its residue kills later, and what it keeps from being laid."""

from datetime import date, timedelta

import numpy as np
import pytest

from treatments.rules.population import (
    CountUnusable,
    Kill,
    Treatment,
    combined,
    kill_of,
    repeated,
    slipped,
)
from treatments.rules.population.visits import laying_on, survival_on

DAY = date(2026, 6, 1)


def after(days, kill, **how):
    treatment = Treatment(DAY, "product", kill, **how)
    return survival_on(DAY + timedelta(days=days), [treatment])


@pytest.mark.parametrize(
    ("kill", "leaves"),
    [
        (Kill(0, 0.9, 0.9, 0.9), (True, False)),
        (Kill(0.1, 0.9, 0.9, 0.9, residual_days=1, half_life_days=1), (False, True)),
    ],
)
def test_a_kill_tells_whether_it_leaves_eggs_and_a_residue(kill, leaves):
    assert kill.leaves_eggs_and_residue == leaves


@pytest.mark.parametrize(
    ("active", "egg", "adult"),
    [
        ("insecticidal soap", 0, 0.9),
        ("horticultural oil", 0.6, 0.85),
        ("Abamectin", 0.1, 0.95),
        ("etoxazole", 0.9, 0),
    ],
)
def test_kills_come_from_the_table_of_active_ingredients(active, egg, adult):
    # common practice, after laboratory trends; none is a label's claim
    kill = kill_of(active)

    assert (kill.egg, kill.adult) == (egg, adult)


@pytest.mark.parametrize("active", ["captan", "imidacloprid", "", "no such thing"])
def test_what_is_not_for_mites_has_no_kill(active):
    assert kill_of(active) is None


def test_a_visit_leaves_what_it_does_not_reach():
    # 1 - coverage * strength * kill
    left = after(0, Kill(0.5, 0.9, 0.9, 1), coverage=0.8, strength_left=0.5)

    assert left == pytest.approx([0.8, 0.64, 0.64, 0.6])


def test_resistant_mites_are_killed_less():
    assert after(0, Kill(0, 1, 1, 1), coverage=1, susceptibility=0.25)[3] == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("days", "left"), [(-1, 1), (1, 1 - 0.5 / 2**0.5), (2, 0.75), (4, 0.875), (5, 1)]
)
def test_a_residue_halves_until_its_last_day(days, left):
    kill = Kill(0, 1, 1, 1, residual_days=4, half_life_days=2)

    assert after(days, kill, coverage=1)[3] == pytest.approx(left)


@pytest.mark.parametrize(("days", "laid"), [(-1, 1), (0, 0.3), (2, 0.65), (4, 0.825), (5, 1)])
def test_females_lay_less_on_a_residue_that_sterilises(days, laid):
    kill = Kill(0, 0, 0, 0, residual_days=4, half_life_days=2, fecundity_factor=0.3)
    treatment = Treatment(DAY, "product", kill, coverage=1)

    assert laying_on(DAY + timedelta(days=days), [treatment]) == pytest.approx(laid)


def test_coverage_never_goes_above_the_whole():
    left = survival_on(DAY, [Treatment(DAY, "x", Kill(0, 1, 1, 1))], np.array([1.0, 2.0]))

    assert left[3] == pytest.approx([0.15, 0])


def test_no_more_females_lay_less_than_there_are():
    kill = Kill(0, 0, 0, 0, residual_days=4, half_life_days=2, fecundity_factor=0.3)

    laid = laying_on(DAY, [Treatment(DAY, "x", kill)], np.array([1.0, 2.0]))

    assert laid == pytest.approx([1 - 0.85 * 0.7, 0.3])


def test_the_longest_residue_of_a_tank_mix_counts():
    mixed = combined([kill_of("hexythiazox"), kill_of("bifenazate")])

    assert mixed.residual_days == 28
    assert mixed.egg == pytest.approx(1 - 0.15 * 0.5)


def test_only_the_late_visit_moves_unless_later_ones_are_to():
    visits = [Treatment(DAY + timedelta(days=7 * n), "x", Kill(0, 1, 1, 1)) for n in range(4)]

    alone, along = (slipped(visits, 3, 5, later_too=later) for later in (False, True))

    assert [(each.day - DAY).days for each in alone] == [0, 7, 19, 21]
    assert [(each.day - DAY).days for each in along] == [0, 7, 19, 26]


@pytest.mark.parametrize("number", [0, 2])
def test_there_is_no_such_visit(number):
    with pytest.raises(CountUnusable, match=f"no visit {number}"):
        slipped([Treatment(DAY, "x", Kill(0, 1, 1, 1))], number, 1)


def test_the_first_visit_repeats_nothing():
    with pytest.raises(CountUnusable, match="no visit 1"):
        repeated([Treatment(DAY, "x", Kill(0, 1, 1, 1))], 1)


@pytest.mark.parametrize("part", ["coverage", "strength_left", "susceptibility"])
@pytest.mark.parametrize("figure", [-0.01, 1.01])
def test_no_part_of_a_visit_is_less_than_nothing_or_more_than_all(part, figure):
    with pytest.raises(CountUnusable, match="parts from 0 to 1"):
        Treatment(DAY, "product", Kill(0, 1, 1, 1), **{part: figure})


@pytest.mark.parametrize("part", ["coverage", "strength_left", "susceptibility"])
def test_a_visit_of_which_nothing_is_left_leaves_all(part):
    assert after(0, Kill(0, 1, 1, 1), **{part: 0})[3] == 1


@pytest.mark.parametrize(
    "ask",
    [
        lambda: Kill(1.1, 0, 0, 0),
        lambda: Kill(0, 0, 0, 0, residual_days=3),
        lambda: Treatment(DAY, "x", Kill(0, 0, 0, 0), coverage=-0.1),
        lambda: combined([]),
    ],
)
def test_parts_lie_between_none_and_all(ask):
    with pytest.raises(CountUnusable):
        ask()
