"""A season in numbers: what a column counts for, what bars it, and which rows always hold."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing import Family, Pin, PinKind, Wishes, compose, risk_to_beneficials
from treatments.rules.composing.candidates import candidates_of
from treatments.rules.composing.families import BITS
from treatments.rules.composing.models import model_of
from treatments.rules.composing.plans import objective_of
from treatments.rules.composing.store_rows import Shelf, to_buy
from treatments.rules.composing.weighing import surcharge
from treatments.rules.facts import IngredientFacts, PastApplication

FIRST = date(2026, 6, 1)


def test_going_there_counts_with_each_visit(a_season, an_offer):
    # by hand: three dollars of product and forty for going there, and one point of risk
    season = a_season(an_offer("Soap", price=3), weeks=3, visit_cost=Decimal(40))

    assert list(model_of(season).costs) == [44, 44, 44]
    assert objective_of(season, candidates_of(season)) == 3 * 44


def test_what_a_label_has_no_room_for_is_barred_beside_a_weaker_rate(a_season, an_offer, codes):
    # half an ounce is left of three a year: room for 0.4, none for one
    label = {"maximum_amount_per_year": Decimal(3), "amount_basis": "fl oz/gal"}
    strong = an_offer("Soap", changes=label)
    weak = replace(strong, code="Weak soap", rate=Decimal("0.4"))
    past = PastApplication(FIRST - timedelta(30), strong.product, Decimal("2.5"))

    season = a_season(strong, weak, weeks=3, history=[past])

    assert list(model_of(season).bars) == [BITS[Family.TOTALS], 0] * 3
    assert codes(compose(season).barred[1, "Soap"]) == ["total-above-label"]


def test_what_the_store_lacks_for_one_visit_is_bought_and_bars_nothing(a_season, an_offer, a_lot):
    lots = (a_lot("Soap", 1),)
    soap = an_offer("Soap", lots=lots, amount=Decimal(2), buying_price=Decimal(4))

    (plan,) = compose(a_season(soap, weeks=3)).plans

    assert plan.to_buy == {"Soap": 5}


@pytest.mark.parametrize("lots", [(), None])
def test_an_amount_that_is_not_known_is_not_bought(a_season, an_offer, lots):
    soap = an_offer("Soap", lots=lots, amount=None)

    assert compose(a_season(soap, weeks=3)).plans[0].to_buy == {}


def test_one_product_a_week_is_no_rule_that_could_be_in_the_way(a_season, an_offer):
    # all weeks are fixed to what does not act on eggs, though the other product would
    pins = tuple(Pin(week, PinKind.FIXED, "Soap") for week in (1, 2, 3))
    offers = an_offer("Soap"), an_offer("Ovicide", eggs=True)

    conflict = compose(a_season(*offers, weeks=3, pins=pins, egg_reach_days=7)).conflict

    assert set(conflict.families) == {Family.EGGS, Family.PINS}


def test_what_is_held_counts_every_lot_also_one_that_expired(an_offer, a_lot):
    lots = (a_lot("Soap", 2), a_lot("Soap", 3, expires_on=date(2026, 1, 1), number="B"))

    assert an_offer("Soap", lots=lots).held() == 5
    assert an_offer("Soap").held() == 0


def test_a_lot_that_expires_on_the_day_of_use_leaves_nothing_to_buy(an_offer, a_lot):
    soap = an_offer("Soap", lots=(a_lot("Soap", 3, expires_on=FIRST),))

    assert to_buy(Shelf((0,), soap), [(FIRST, Decimal(3))]) == 0
    assert to_buy(Shelf((0,), soap), [(FIRST + timedelta(1), Decimal(3))]) == 3


def test_buying_counts_unit_by_unit_beyond_what_is_held(a_season, an_offer, a_lot):
    # two units are held at a dollar; a third would be bought at four, and the other costs three
    soap = an_offer("Soap", lots=(a_lot("Soap", 2),), buying_price=Decimal(4))

    codes = compose(a_season(soap, an_offer("Other", price=3))).plans[0].codes()

    assert sorted(codes) == ["Other", "Other", "Soap", "Soap"]


def test_a_unit_that_is_bought_costs_what_it_does_beyond_one_that_was_free(an_offer):
    assert surcharge(an_offer("Soap", price=0, buying_price=Decimal(4))) == 4


def test_what_nobody_sells_has_no_surcharge(an_offer):
    assert surcharge(an_offer("Soap")) == 0


def test_what_moves_into_pollen_is_worse_for_bees(a_product):
    # our own scale: the hazard counts nine, and pollen three more
    plain = IngredientFacts("active", bee_hazard="high")
    systemic = replace(plain, moves_into_pollen=True)

    risks = [risk_to_beneficials(a_product(ingredients=(each,))) for each in (plain, systemic)]

    assert risks == [9, 12]


FEW = {"wishes": Wishes(fewest_visits=True), "visit_reach_days": 14}


def test_where_few_visits_are_wished_the_first_is_made_in_the_first_week_that_is_free(
    a_season, an_offer
):
    skipped = Pin(1, PinKind.SKIPPED)

    codes = compose(a_season(an_offer("Soap"), weeks=6, pins=(skipped,), **FEW)).plans[0].codes()

    assert [bool(each) for each in codes[:2]] == [False, True]


def test_where_few_visits_are_wished_a_record_on_the_first_day_is_the_first(a_season, an_offer):
    soap = an_offer("Soap")
    past = PastApplication(FIRST, soap.product)

    codes = compose(a_season(soap, weeks=6, history=[past], **FEW)).plans[0].codes()

    assert not codes[0]
