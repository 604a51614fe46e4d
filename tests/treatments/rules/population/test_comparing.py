"""Changes of plan against the plan, and the days on which to come again."""

from datetime import timedelta

import numpy as np
import pytest

from treatments.rules.population import (
    GrowthFactor,
    Kill,
    StageCounts,
    repeated,
    retreat_window,
    slipped,
    what_if,
)
from treatments.rules.population.cautions import few_digits
from treatments.rules.population.comparing import ABOUT_EQUAL, _compared

FULL = GrowthFactor(1.0, 1.0, 1.0)
FIVE = StageCounts(motiles=5)


def test_a_slip_costs_contact_sprays_more_than_lasting_ones(steady, weekly, soap):
    lasting = Kill(0.5, 0.9, 0.95, 0.95, residual_days=14, half_life_days=7)
    ratios = {}
    for name, kills in {"soap": [soap] * 6, "lasting": [lasting, lasting, *[soap] * 4]}.items():
        visits = weekly(*kills)
        plans = {"as planned": visits, "late": slipped(visits, 3, 5, later_too=True)}
        ratios[name] = what_if(FIVE, steady(20), plans, growth=FULL)[1].ratio.expected

    assert ratios["soap"] > 1.5
    assert 1 < ratios["lasting"] < ratios["soap"]


def test_the_plan_itself_is_told_as_the_base(steady, weekly, soap):
    (base,) = what_if(FIVE, steady(), {"weekly": weekly(soap)})

    assert (base.finding.code, base.ratio.expected) == ("base", 1)


def test_a_shorter_interval_is_told_as_fewer(steady, weekly, soap):
    plans = {"weekly": weekly(*[soap] * 6), "every five days": weekly(*[soap] * 6, every=5)}

    shorter = what_if(FIVE, steady(25), plans, growth=FULL)[1]

    assert shorter.finding.code == "fewer-mite-days"
    assert shorter.finding.say().startswith("every five days: about ")
    assert shorter.finding.facts["mite_days"] == few_digits(shorter.mite_days.expected)


def test_soap_in_place_of_a_lasting_product_is_told_as_more(steady, weekly, soap):
    lasting = Kill(0.5, 0.9, 0.95, 0.95, residual_days=14, half_life_days=7)
    visits = weekly(soap, lasting)

    plans = {"rotation": visits, "soap again": repeated(visits, 2)}

    assert what_if(FIVE, steady(), plans)[1].finding.code == "more-mite-days"


@pytest.mark.parametrize(
    ("ratio", "code"),
    [
        (0.25, "fewer-mite-days"),
        (1 / ABOUT_EQUAL, "about-equal"),
        (ABOUT_EQUAL, "about-equal"),
        (4, "more-mite-days"),
    ],
)
def test_a_change_is_told_from_beyond_what_counts_as_equal(ratio, code):
    finding = _compared("late", "weekly", np.full(3, 100.0), np.full(3, ratio)).finding

    assert finding.code == code


def test_a_quarter_of_the_mite_days_is_told_as_three_quarters_fewer():
    finding = _compared("late", "weekly", np.full(3, 100.0), np.full(3, 0.25)).finding

    assert finding.say().startswith("late: about 75 percent fewer mite-days than weekly")


@pytest.mark.parametrize(("mean_c", "opens", "closes"), [(20, 7, 9), (25, 5, 6), (15, 13, 18)])
def test_the_next_visit_comes_after_the_hatch_and_before_the_laying(steady, mean_c, opens, closes):
    # 62 and 95 degree-days over 10 C; whole days: the first after the hatch, the last before;
    # at 15 C the 95 are full just as the nineteenth day ends, so the eighteenth is the last
    days = steady(mean_c)

    window = retreat_window(days[0].day, days)

    assert (window.opens - days[0].day, window.closes - days[0].day) == (
        timedelta(days=opens),
        timedelta(days=closes),
    )


@pytest.mark.parametrize(("interval", "codes"), [(6, []), (7, ["label-after-window"])])
def test_the_label_outranks_the_window(steady, interval, codes):
    days = steady(25)

    window = retreat_window(days[0].day, days, minimum_interval_days=interval)

    assert [finding.code for finding in window.findings] == codes
    assert window.opens == days[0].day + timedelta(days=interval)
    assert window.opens <= window.closes


def test_the_days_of_a_window_that_closed_are_told_as_days(steady):
    days = steady(25)

    (late,) = retreat_window(days[0].day, days, minimum_interval_days=7).findings

    assert (late.facts["day"], late.facts["closes"]) == (
        days[0].day,
        days[0].day + timedelta(days=6),
    )


def test_a_window_that_the_label_closes_asks_for_another_product(steady):
    days = steady(25)

    (late,) = retreat_window(days[0].day, days, minimum_interval_days=7).findings
    (unknown,) = retreat_window(days[0].day, days[:2]).findings

    assert (bool(late.say_remedy()), bool(unknown.say_remedy())) == (True, False)


def test_a_window_may_open_within_the_known_days_and_close_beyond_them(steady):
    # 15 degree-days a day: 62 are full on the fifth day, 95 on the seventh
    days = steady(25, number=5)

    window = retreat_window(days[0].day, days)

    assert (window.opens, window.closes) == (days[0].day + timedelta(days=5), None)


def test_a_window_beyond_the_known_days_is_not_guessed(steady):
    days = steady(15, number=5)

    window = retreat_window(days[0].day, days, minimum_interval_days=7)

    assert (window.opens, window.closes) == (None, None)
