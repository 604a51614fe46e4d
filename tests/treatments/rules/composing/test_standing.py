"""How every product stands in every week: the table beside a plan."""

from dataclasses import replace

import pytest

from treatments.rules.composing import (
    Pin,
    PinKind,
    ProofMissing,
    Stands,
    TreatedPlanting,
    Wishes,
    compose,
)
from treatments.rules.composing.families import Family
from treatments.rules.composing.solving import Search
from treatments.rules.composing.standing import SHORT, short_reason
from treatments.rules.facts import BloomRule, PastApplication
from treatments.rules.findings import Finding, Severity


@pytest.fixture
def answer(a_season, an_offer):
    """Two miticides and a soap; what is forbidden in bloom cannot go out in the first two weeks."""
    offers = (
        an_offer("Soap", price=2),
        an_offer("Six", "6", changes={"minimum_interval_days": 21}),
        an_offer("Twenty", "20B", price=9, changes={"bloom_rule": BloomRule.NOT_IN_BLOOM}),
    )
    season = a_season(*offers)
    bed = replace(season.plantings[0].planting, bloom_start="05-20", bloom_end="06-09")
    return compose(replace(season, plantings=(TreatedPlanting(bed),)))


def test_every_product_stands_in_every_week(answer):
    standings = answer.standings(answer.plans[0])

    assert set(standings) == {
        (week, code) for week in range(1, 5) for code in ("Soap", "Six", "Twenty")
    }


def test_what_is_proposed_says_so(answer):
    plan = answer.plans[0]
    standings = answer.standings(plan)

    proposed = {at for at, each in standings.items() if each.stands is Stands.PROPOSED}
    assert proposed == {(week, code) for week, code in enumerate(plan.codes(), 1) if code}


def test_what_bloom_forbids_is_kept_out_by_itself_with_its_sentence(answer):
    standing = answer.standings(answer.plans[0])[1, "Twenty"]

    assert (standing.stands, standing.short) == (Stands.KEPT_OUT, "bloom")
    assert standing.findings == answer.barred[1, "Twenty"]


def test_what_the_other_weeks_keep_out_names_the_rule(answer):
    # 21 days must lie between two applications, as the label of this example has it
    plan = answer.plans[0]
    used = plan.codes().index("Six") + 1
    near = used + 1 if used < 4 else used - 1

    standing = answer.standings(plan)[near, "Six"]

    assert (standing.stands, standing.short) == (Stands.OTHER_WEEKS, "too soon")


def test_what_could_be_taken_is_allowed_and_says_what_it_would_cost(answer):
    standing = answer.standings(answer.plans[0])[4, "Twenty"]

    assert standing.stands in (Stands.ALLOWED, Stands.PROPOSED)
    assert all(each.code == "worse" for each in standing.findings)


def test_without_a_plan_only_what_bars_by_itself_is_told(answer):
    standings = answer.standings()

    kept_out = {at for at, each in standings.items() if each.stands is Stands.KEPT_OUT}
    assert kept_out == set(answer.barred)


def test_a_week_in_the_records_is_done(a_season, an_offer):
    soap = an_offer("Soap")
    season = a_season(soap)
    done = Pin(1, PinKind.DONE, applied=PastApplication(season.days[0], soap.product))

    answer = compose(replace(season, pins=(done,)))

    assert answer.standings(answer.plans[0])[1, "Soap"].stands is Stands.DONE


def test_a_warning_that_may_be_accepted_is_allowed(a_season, an_offer, a_planting):
    season = a_season(
        an_offer("Soap", price=9),
        an_offer("Oil", family="oil"),
        planting=a_planting(drought_stressed=True),
        wishes=Wishes(without_warnings=False),
    )
    answer = compose(season)

    standing = answer.standings(answer.plans[0])[1, "Oil"]

    assert (standing.stands, standing.short) == (Stands.ALLOWED, "warning")


def test_a_mode_of_action_beside_itself_is_not_allowed_by_accepting_warnings(a_season, an_offer):
    # [IRAC-MOA] successive generations are not treated with one group
    offers = an_offer("Six", "6"), an_offer("Soap", price=9)
    wishes = Wishes(without_warnings=False)
    answer = compose(a_season(*offers, weeks=3, uses_a_season=None, wishes=wishes))

    standing = answer.standings(answer.plans[0])[2, "Six"]

    assert (standing.stands, standing.short) == (Stands.OTHER_WEEKS, "same mode")


@pytest.mark.parametrize(
    ("code", "word"), [("group-repeated", "same mode"), ("drought", "warning")]
)
def test_a_warning_is_named_by_its_family_where_it_has_one(code, word):
    assert short_reason([Finding(code, Severity.WARNING, "A warning.")]) == word


def test_every_family_of_rules_has_a_word():
    assert set(SHORT) == set(Family)


def test_what_was_proven_is_told_where_a_further_plan_is_not(monkeypatch, a_season, an_offer):
    best, asked = Search.best, []

    def once(search):
        asked.append(search)
        if len(asked) > 1:
            raise ProofMissing("not in the time given")
        return best(search)

    monkeypatch.setattr(Search, "best", once)
    answer = compose(a_season(an_offer("Soap"), an_offer("Six", "6")))

    assert len(answer.plans) == 1
    assert answer.unproven.code == "proof-missing"
