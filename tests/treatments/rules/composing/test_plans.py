"""What a composed plan is: best, different from the next, refused nothing, on its real days."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing import (
    Pin,
    PinKind,
    ProofMissing,
    TreatedPlanting,
    Wishes,
    compose,
    risk_to_beneficials,
)
from treatments.rules.facts import BloomRule, CertificateFacts, PastApplication
from treatments.rules.findings import refuses

SKIPPED_SECOND = Pin(2, PinKind.SKIPPED)


@pytest.fixture
def four_groups(an_offer):
    """Return four offers that work differently, dearer one by one."""
    return [an_offer(f"P{group}", group, price=place) for place, group in enumerate("1456", 1)]


def test_two_cheap_products_in_turn_are_the_best_plan(a_season, four_groups):
    # [IRAC-MOA] alternation; two uses of a group a year, so 1 + 2 + 1 + 2 dollars and 4 visits
    plan = compose(a_season(*four_groups)).plans[0]

    assert plan.cost == 6
    assert sorted(plan.codes()) == ["P1", "P1", "P4", "P4"]
    assert plan.groups == {"1": 2, "4": 2}
    assert plan.visits == 4


def test_three_plans_differ_in_products_and_each_counts_for_more(a_season, four_groups):
    plans = compose(a_season(*four_groups)).plans

    assert [plan.cost for plan in plans] == [6, 7, 8]
    assert plans[0].objective < plans[1].objective < plans[2].objective
    assert len({frozenset(plan.codes()) for plan in plans}) == 3


def test_each_plan_brings_what_each_before_it_lacks(a_season, four_groups):
    used = [frozenset(plan.codes()) for plan in compose(a_season(*four_groups)).plans]

    assert used[1] - used[0]
    assert used[2] - used[0]
    assert used[2] - used[1]


def test_the_same_products_in_another_order_are_another_plan_when_asked(a_season, four_groups):
    plans = compose(a_season(*four_groups), of_other_products=False).plans

    assert [plan.cost for plan in plans[:2]] == [6, 6]
    assert len({plan.codes() for plan in plans}) == 3


def test_there_are_no_more_plans_than_exist(a_season, an_offer):
    answer = compose(a_season(an_offer("Soap"), an_offer("Other soap"), weeks=3), plans=9)

    assert len(answer.plans) == 2


def test_no_check_refuses_a_plan(a_season, four_groups, a_planting):
    planting = a_planting(jurisdiction="US-PA", bloom_start="06-01", bloom_end="06-10")
    held = CertificateFacts("R. Vole", "US-PA", frozenset(), date(2026, 12, 31))

    plans = compose(a_season(*four_groups, planting=planting, certificates=(held,))).plans

    assert len(plans) == 3
    assert not any(refuses(list(plan.findings)) for plan in plans)


def test_a_certificate_that_expires_bars_the_weeks_after_it(a_season, four_groups, a_planting):
    held = CertificateFacts("R. Vole", "US-PA", frozenset(), date(2026, 6, 10))
    season = a_season(*four_groups, planting=a_planting(jurisdiction="US-PA"), certificates=(held,))

    answer = compose(season)

    assert answer.conflict.empty_weeks == (3, 4)
    assert (2, "P1") not in answer.barred
    assert [each.code for each in answer.barred[3, "P1"]] == ["certificate-expired"]


@pytest.mark.parametrize(("group", "between"), [("6", "Soap"), ("23", "Soap"), ("5", "Other")])
def test_a_mixture_counts_in_both_groups(a_season, an_offer, group, between):
    # a visit with two actives uses both groups [IRAC-MOA]
    offers = [an_offer("Mix", "6+23"), an_offer("Other", group, price=2), an_offer("Soap", price=9)]

    assert compose(a_season(*offers, weeks=3)).plans[0].codes()[1] == between


def test_subgroups_are_one_group(a_season, an_offer):
    # [IRAC] 10A and 10B are one number, so the soap must stand between them
    offers = [an_offer("Ten A", "10A"), an_offer("Ten B", "10B"), an_offer("Soap", price=9)]

    assert compose(a_season(*offers, weeks=3)).plans[0].codes()[1] == "Soap"


def test_bloom_moves_a_visit_to_dusk(a_season, an_offer, a_planting):
    # [EPA-BEES] not while bees forage
    offer = an_offer("Soap", changes={"bloom_rule": BloomRule.NOT_WHILE_FORAGING})
    planting = a_planting(bloom_start="06-08", bloom_end="06-08")

    plan = compose(a_season(offer, weeks=3, planting=planting)).plans[0]

    assert [each.at_dusk for each in plan.applications()] == [False, True, False]
    assert [each.code for each in plan.findings] == ["bloom-at-dusk"]


def test_bloom_moves_to_another_product_where_nobody_goes_at_dusk(a_season, an_offer, a_planting):
    offer = an_offer("Soap", changes={"bloom_rule": BloomRule.NOT_WHILE_FORAGING})
    planting = a_planting(bloom_start="06-08", bloom_end="06-08")
    wishes = Wishes(dusk_possible=False)
    season = a_season(offer, an_offer("Dear", price=9), weeks=3, planting=planting, wishes=wishes)

    assert compose(season).plans[0].codes() == ("Soap", "Dear", "Soap")


@pytest.mark.parametrize(("bloom_day", "expected"), [("06-08", "Dear"), ("06-09", "Soap")])
def test_a_ban_in_bloom_holds_on_the_day_itself(
    a_season, an_offer, a_planting, bloom_day, expected
):
    # [EPA-BEES] as the label says it
    offer = an_offer("Soap", changes={"bloom_rule": BloomRule.NOT_IN_BLOOM})
    planting = a_planting(bloom_start=bloom_day, bloom_end=bloom_day)
    season = a_season(offer, an_offer("Dear", price=9), weeks=3, planting=planting)

    assert compose(season).plans[0].codes()[1] == expected


def test_a_fixed_week_gets_its_product_and_a_skipped_one_none(a_season, four_groups):
    pins = (Pin(1, PinKind.FIXED, "P6"), SKIPPED_SECOND)

    plan = compose(a_season(*four_groups, pins=pins)).plans[0]

    assert plan.codes()[:2] == ("P6", "")
    assert plan.visits == 3


def test_a_skipped_week_makes_its_neighbours_meet(a_season, four_groups):
    # common practice: applications up to 28 days apart are neighbours
    plan = compose(a_season(*four_groups, pins=(SKIPPED_SECOND,))).plans[0]

    assert plan.codes()[0] != plan.codes()[2]


def test_a_done_week_counts_as_history_on_its_own_day(a_season, four_groups):
    season = a_season(*four_groups)
    applied = PastApplication(season.days[0] + timedelta(1), four_groups[0].product)

    plan = compose(replace(season, pins=(Pin(1, PinKind.DONE, applied=applied),))).plans[0]

    assert plan.weeks[0].offer is None
    assert plan.weeks[0].pin.applied is applied
    assert plan.codes()[1] != "P1"
    assert plan.visits == 4


def test_organic_only_takes_what_is_listed(a_season, an_offer):
    # listing as in [7CFR205-601]
    listed = an_offer("Listed", price=9, changes={"organic_listed": True})
    season = a_season(listed, an_offer("Cheap"), weeks=3)

    answer = compose(replace(season, wishes=Wishes(organic_only=True)))

    assert answer.plans[0].codes() == ("Listed",) * 3
    assert [each.code for each in answer.barred[1, "Cheap"]] == ["organic-wished"]


def test_the_wishes_weigh_cost_against_beneficials(a_season, an_offer):
    mild = an_offer("Mild", price=6, risk=Decimal(1))
    harsh = an_offer("Harsh", price=3, risk=Decimal(3))
    season = a_season(mild, harsh, weeks=3)

    cheapest = compose(replace(season, wishes=Wishes(cheapest=True))).plans[0]
    gentlest = compose(replace(season, wishes=Wishes(gentlest=True))).plans[0]

    assert (cheapest.cost, cheapest.risk) == (9, 9)
    assert (gentlest.cost, gentlest.risk) == (18, 3)


def test_fewest_visits_leave_weeks_out_within_reach(a_season, an_offer):
    season = a_season(an_offer("Soap"), weeks=6, visit_reach_days=14)

    plan = compose(replace(season, wishes=Wishes(fewest_visits=True))).plans[0]

    assert plan.visits == 3  # on days 0 to 35, none more than 14 days after the last
    assert plan.codes()[0] == "Soap"


def test_a_plan_that_is_not_proven_is_not_given(a_season, four_groups):
    with pytest.raises(ProofMissing, match="not proven in the time given"):
        compose(a_season(*four_groups), seconds=0)


def test_a_visit_costs_even_without_product(a_season, an_offer):
    season = a_season(an_offer("Soap", price=0), weeks=3, visit_cost=Decimal(40))

    assert compose(season).plans[0].cost == 120


def test_an_unknown_price_counts_as_the_dearest_and_is_told(a_season, an_offer):
    unknown = replace(an_offer("Unknown", risk=Decimal(0)), price=None)
    plan = compose(a_season(unknown, an_offer("Dear", price=9), weeks=3)).plans[0]

    assert plan.cost_unknown == ("Unknown",)
    assert (plan.cost, plan.objective) == (0, 27)


def test_a_product_must_suit_every_planting(a_season, four_groups, a_planting):
    # use on a site that the label does not name is unlawful [7USC136]
    season = a_season(*four_groups)
    lawn = TreatedPlanting(a_planting(name="Lawn", plant_group="lawn"))

    answer = compose(replace(season, plantings=(*season.plantings, lawn)))

    assert answer.conflict.empty_weeks == (1, 2, 3, 4)
    assert {each.code for each in answer.barred[1, "P1"]} == {"site-not-listed"}


def test_a_product_of_which_no_ingredient_is_known_has_no_points_of_risk(a_product):
    # our own scale, which only orders products; what is not known is asked for elsewhere
    assert risk_to_beneficials(a_product(ingredients=())) == 0
