"""Why there is no plan, which wish would free one, and why a product is not in a week."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing import (
    BINDING,
    NAMES,
    Family,
    Pin,
    PinKind,
    Season,
    SeasonUnusable,
    Wishes,
    compose,
)
from treatments.rules.composing.conflicts import conflict_of, smallest_conflict
from treatments.rules.composing.families import BITS
from treatments.rules.facts import BloomRule, PastApplication
from treatments.rules.findings import Severity


def conflict(season):
    return compose(season).conflict


def test_organic_only_and_one_use_of_a_group_are_in_conflict(a_season, an_offer):
    # listing as in [7CFR205-601]; the one group that is listed cannot serve three weeks
    listed = an_offer("Listed", "5", changes={"organic_listed": True})
    season = a_season(listed, an_offer("Soap"), weeks=3, wishes=Wishes(organic_only=True))

    found = conflict(season)

    assert found.remedies == ((Family.ORGANIC_WISH,), (Family.VISITS,))
    assert [each.say() for each in found.findings if each.code == "give-up"] == [
        "There is a plan without this: organic products only.",
        "There is a plan without this: a visit in every week, or soon enough after the last.",
    ]
    assert set(found.families) == {Family.ORGANIC_WISH, Family.USES, Family.VISITS}
    said = [each.say() for each in found.findings if each.code == "in-conflict"]
    assert all(each.startswith("In the way of each other") for each in said)
    assert "nothing-frees" not in [each.code for each in found.findings]


def test_a_label_is_named_before_a_wish_that_cannot_be_kept_either(a_season, an_offer, a_planting):
    # our own choice: the site is not on the label, and no product reaches eggs
    lawn = a_planting(plant_group="lawn")

    found = conflict(a_season(an_offer("Soap"), planting=lawn, egg_reach_days=14))

    assert set(found.families) == {Family.LABEL, Family.VISITS}


def test_what_binds_refuses_and_stays_while_a_wish_warns(a_season, an_offer, a_planting):
    season = a_season(an_offer("Soap"), weeks=3, planting=a_planting(plant_group="lawn"))

    found = [each for each in conflict(season).findings if each.code == "in-conflict"]

    assert [(each.severity, each.say(), each.say_remedy()) for each in found] == [
        (
            Severity.WARNING,
            "In the way of each other: a visit in every week, or soon enough after the last.",
            "",
        ),
        (
            Severity.REFUSAL,
            "In the way of each other: the labels' sites, rates and amounts.",
            "This comes from a label, the law or what was agreed, and stays.",
        ),
    ]


def test_the_days_that_a_label_asks_for_are_named(a_season, an_offer):
    # one product for each week, that may be used every other week
    soap = an_offer("Soap", changes={"minimum_interval_days": 14})

    found = conflict(a_season(soap, weeks=3))

    assert set(found.families) == {Family.INTERVAL, Family.VISITS}


def test_a_law_is_named_but_never_offered(a_season, an_offer):
    # [OIL-LABEL-30] sulfur only, and its label allows one use
    label = {"maximum_applications_per_year": 1}
    offers = [
        an_offer("Oil", family="oil", changes=label),
        an_offer("Sulfur", family="sulfur", changes=label),
    ]

    found = conflict(a_season(*offers, weeks=3))

    assert Family.TOTALS in found.families
    assert found.remedies == ((Family.VISITS,),)
    assert not any(set(remedy) & BINDING for remedy in found.remedies)


def test_a_label_that_allows_nothing_leaves_no_remedy_but_going_less(
    a_season, an_offer, a_planting
):
    # use on a site that the label does not name is unlawful [7USC136]
    season = a_season(an_offer("Soap"), weeks=3, planting=a_planting(plant_group="lawn"))

    found = conflict(season)

    assert set(found.families) == {Family.LABEL, Family.VISITS}
    assert found.empty_weeks == (1, 2, 3)
    assert found.findings[0].facts == {
        "weeks": 3,
        "first": date(2026, 6, 1),
        "last": date(2026, 6, 15),
    }
    empty = [each for each in found.findings if each.code == "week-empty"]
    assert [each.week for each in empty] == [1, 2, 3]
    assert [each.facts["day"] for each in empty] == list(season.days)


def test_a_week_in_bloom_without_a_product_is_named_with_its_reasons(
    a_season, an_offer, a_planting
):
    # [EPA-BEES] as the label says it
    soap = an_offer("Soap", changes={"bloom_rule": BloomRule.NOT_IN_BLOOM})
    planting = a_planting(bloom_start="06-05", bloom_end="06-09")

    answer = compose(a_season(soap, weeks=3, planting=planting))

    assert answer.conflict.empty_weeks == (2,)
    assert [each.code for each in answer.barred[2, "Soap"]] == ["in-bloom"]
    assert answer.barred.keys() == {(2, "Soap")}


def test_two_wishes_are_offered_where_no_single_one_frees(a_season, an_offer, a_lot):
    # one product, not listed, and nothing in the store: both wishes must go to treat each week
    soap = an_offer("Soap", lots=())
    season = a_season(
        soap, weeks=3, wishes=Wishes(organic_only=True), pins=(Pin(1, PinKind.FIXED, "Soap"),)
    )

    found = conflict(season)

    assert (Family.ORGANIC_WISH, Family.STOCK) in found.remedies
    assert all(len(remedy) == 2 for remedy in found.remedies)
    assert "There is a plan without both: organic products only; only what the store holds." in [
        each.say() for each in found.findings
    ]


@pytest.mark.parametrize(
    ("family", "changes"),
    [
        (Family.EGGS, {"egg_reach_days": None}),
        (Family.PINS, {"pins": ()}),
        (Family.USES, {"uses_a_season": 4}),
    ],
)
def test_giving_up_what_is_offered_frees_a_plan(a_season, an_offer, family, changes):
    crossed = {
        Family.EGGS: {"egg_reach_days": 7},
        Family.PINS: {"pins": (Pin(1, PinKind.FIXED, "Six"), Pin(2, PinKind.FIXED, "Six"))},
        Family.USES: {"uses_a_season": 1},
    }[family]
    season = a_season(an_offer("Six", "6"), an_offer("Five", "5"), weeks=4, **crossed)

    assert (family,) in conflict(season).remedies
    assert compose(replace(season, **changes)).plans


def test_leaving_a_week_out_does_not_hide_that_its_neighbours_meet(a_season, an_offer):
    # common practice: with week 2 left out, weeks 1 and 3 are neighbours 14 days apart
    label = {"minimum_interval_days": 28}
    pins = (Pin(1, PinKind.FIXED, "Six"), Pin(3, PinKind.FIXED, "Other six"))
    offers = [an_offer("Six", "6", changes=label), an_offer("Other six", "6", changes=label)]

    found = conflict(a_season(*offers, weeks=3, pins=pins))

    assert (Family.VISITS,) not in found.remedies


def test_eggs_that_no_product_reaches_are_said(a_season, an_offer, codes):
    found = conflict(a_season(an_offer("Soap"), egg_reach_days=14))

    assert found.families == (Family.EGGS,)
    assert "no-egg-product" in codes(found.findings)
    said = [each.say() for each in found.findings if each.code == "in-conflict"]
    assert said[0].startswith("This alone cannot be kept")


@pytest.mark.parametrize(("apart", "told"), [(14, False), (15, True)])
def test_days_as_far_apart_as_eggs_take_are_near_enough(
    a_season, an_offer, weekly, codes, apart, told
):
    found = conflict(a_season(an_offer("Soap"), days=weekly(3, apart), egg_reach_days=14))

    assert ("no-day-for-eggs" in codes(found.findings)) is told


def test_days_too_far_apart_for_eggs_are_said(a_season, an_offer, weekly):
    season = a_season(an_offer("Ovicide", eggs=True), days=weekly(3, apart=15), egg_reach_days=14)

    said = [each.say() for each in conflict(season).findings if each.code == "no-day-for-eggs"]

    assert said[0] == (
        "Eggs hatch within 14 days, and no visit is planned between 2026-06-01 and 2026-06-16."
    )


def test_every_conflict_is_told_in_full_sentences(a_season, an_offer):
    season = a_season(an_offer("Six", "6"), egg_reach_days=7)

    findings = conflict(season).findings

    assert all(each.say().endswith(".") for each in findings)
    assert "%" not in "".join(each.say() + each.say_remedy() for each in findings)


def test_every_family_has_a_name():
    assert NAMES.keys() == set(Family)


def test_the_smallest_conflict_needs_each_of_its_families():
    # [CHINNECK-1991] what the deletion filter leaves is infeasible, and feasible without any one
    clashes = [BITS[Family.EGGS] | BITS[Family.STOCK], BITS[Family.PINS] | BITS[Family.BLOOM]]

    def is_possible_with(active):
        return not any(active & clash == clash for clash in clashes)

    found = smallest_conflict(list(Family), is_possible_with)

    kept = sum(BITS[family] for family in found)
    assert not is_possible_with(kept)
    assert all(is_possible_with(kept & ~BITS[family]) for family in found)


def test_a_season_with_a_plan_has_no_conflict(a_season, an_offer):
    season = a_season(an_offer("Soap"))

    assert compose(season).conflict is None
    with pytest.raises(ValueError, match="There is a plan"):
        conflict_of(season)


def test_why_not_tells_what_the_rules_would_say(a_season, an_offer, codes):
    # the group meets itself in the next week [IRAC-MOA]
    season = a_season(an_offer("Six", "6"), an_offer("Soap", price=2), weeks=3, uses_a_season=None)
    answer = compose(season)

    found = answer.why_not(answer.plans[0], 2, "Six")

    assert answer.plans[0].codes() == ("Six", "Soap", "Six")
    assert set(codes(found)) == {"group-repeated", "group-too-often"}


@pytest.mark.parametrize(("price", "is_worse"), [(1, False), (2, True)])
def test_a_dollar_more_is_worse_and_the_same_is_not(a_season, an_offer, price, is_worse):
    answer = compose(a_season(an_offer("Soap"), an_offer("Other", price=price), weeks=3))
    plan = answer.plans[0]
    other = "Other" if plan.codes()[1] == "Soap" else "Soap"

    (finding,) = answer.why_not(plan, 2, other)

    assert ("would count 1 more" in finding.say()) is is_worse
    assert ("as good or better" in finding.say()) is not is_worse


@pytest.mark.parametrize("uses", [0, 1, 2])
def test_a_group_is_barred_with_the_uses_that_the_season_allows(a_season, an_offer, uses):
    # common practice: two uses of a group a year; fewer are our own choice here
    six = an_offer("Six", "6")
    past = [PastApplication(date(2026, 1, 1 + 30 * each), six.product) for each in range(uses)]

    answer = compose(a_season(six, an_offer("Soap"), history=past, uses_a_season=uses))

    (finding,) = answer.barred[1, "Six"]
    assert (finding.code, finding.facts["limit"]) == ("group-too-often", uses)


def test_what_the_store_does_not_hold_is_barred_with_that_reason(a_season, an_offer, codes):
    answer = compose(a_season(an_offer("Soap", lots=()), an_offer("Dear", price=9)))

    assert codes(answer.barred[1, "Soap"]) == ["stock-short"]


def test_why_not_tells_how_much_worse_a_plan_would_be(a_season, an_offer):
    answer = compose(a_season(an_offer("Soap"), an_offer("Dear", price=9), weeks=3))

    (finding,) = answer.why_not(answer.plans[0], 2, "Dear")

    assert finding.code == "worse"
    assert (finding.facts["product"], finding.facts["more"]) == ("Dear", 8)


def test_why_not_tells_that_eggs_would_wait(a_season, an_offer, codes):
    ovicide = an_offer("Ovicide", price=9, eggs=True)
    answer = compose(a_season(ovicide, an_offer("Soap"), weeks=5, egg_reach_days=14))

    assert codes(answer.why_not(answer.plans[0], 3, "Soap")) == ["eggs-late"]


def test_why_not_of_what_is_barred_gives_its_reasons(a_season, an_offer, a_planting):
    # drought: common practice for sulfur
    sulfur = an_offer("Sulfur", "UN", family="sulfur")
    season = a_season(sulfur, an_offer("Plain"), planting=a_planting(drought_stressed=True))
    answer = compose(season)

    (finding,) = answer.why_not(answer.plans[0], 2, "Sulfur")

    assert (finding.code, finding.week) == ("drought", 2)


def test_a_warning_that_is_accepted_counts(a_season, an_offer, a_planting):
    sulfur = an_offer("Sulfur", "UN", family="sulfur")
    season = a_season(
        sulfur,
        weeks=3,
        planting=a_planting(drought_stressed=True),
        uses_a_season=None,
        wishes=Wishes(without_warnings=False),
    )

    conflicting = compose(season)
    freed = compose(replace(season, pins=(Pin(2, PinKind.SKIPPED),)))

    assert (Family.GENERATIONS,) in conflicting.conflict.remedies
    assert freed.conflict is not None


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"days": (date(2026, 6, 1),) * 3}, "does not come after"),
        ({"days": (date(2026, 6, 1), date(2026, 6, 8))}, "3 to 26 weeks, not 2"),
        ({"days": tuple(date(2026, 1, 1) + timedelta(n) for n in range(27))}, "not 27"),
        ({"offers": ()}, "at least one product"),
        ({"plantings": ()}, "at least one planting"),
        ({"pins": (Pin(9, PinKind.SKIPPED),)}, "no week of the season"),
        ({"pins": (Pin(1, PinKind.FIXED, "Unknown"),)}, "not on offer"),
        ({"pins": (Pin(1, PinKind.SKIPPED),) * 2}, "Week 1 is fixed 2 times"),
        ({"pins": (Pin(1, PinKind.DONE),)}, "what was applied"),
        ({"wishes": Wishes(fewest_visits=True)}, "how many days"),
    ],
)
def test_what_makes_no_season_is_said(a_season, an_offer, changes, sentence):
    with pytest.raises(SeasonUnusable, match=sentence):
        replace(a_season(an_offer("Soap")), **changes)


@pytest.mark.parametrize("weeks", [3, 26])  # our own bounds
def test_the_shortest_and_the_longest_season_are_taken(a_season, an_offer, weeks):
    assert len(a_season(an_offer("Soap"), weeks=weeks).days) == weeks


def test_offers_of_one_product_share_its_shelf(a_season, an_offer):
    soap = an_offer("Soap")
    stronger = replace(soap, code="Strong soap", rate=Decimal(2))

    assert isinstance(a_season(soap, stronger), Season)
    with pytest.raises(SeasonUnusable, match="differ in their lots"):
        a_season(soap, replace(stronger, price=Decimal(2)))
    with pytest.raises(SeasonUnusable, match="stands for 2 offers"):
        a_season(soap, soap)
