"""What holds between weeks: days apart, totals, the store, eggs, all by real dates."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing import Pin, PinKind, TreatedPlanting, Wishes, compose
from treatments.rules.composing.eggs import check_eggs
from treatments.rules.composing.windows import crowded, late_after, near, stretches
from treatments.rules.facts import IngredientFacts, PastApplication

FIRST = date(2026, 6, 1)


def best(season):
    return compose(season, plans=1).plans[0]


def holding(offer, pounds_an_acre_a_year):
    """Return an offer of 3 pints an acre, at 4 lb a gallon 1.5 lb [PNW-NODE328]."""
    content = IngredientFacts(
        "active",
        pounds_per_gallon=Decimal(4),
        maximum_pounds_per_acre_per_year=pounds_an_acre_a_year,
    )
    product = replace(offer.product, ingredients=(content,), amount_basis="pt/acre")
    return replace(offer, product=product, amount_per_1000_sq_ft=Decimal(3))


def test_an_active_ingredient_is_counted_over_the_products_that_hold_it(a_season, an_offer):
    one, two = (holding(an_offer(code), Decimal("3.2")) for code in ("One", "Two"))

    codes = best(a_season(one, two, an_offer("Soap", price=9), weeks=4)).codes()

    assert len([code for code in codes if code in ("One", "Two")]) == 2


def test_an_active_ingredient_in_the_records_counts_for_the_other_product(a_season, an_offer):
    one, two = (holding(an_offer(code), Decimal("3.2")) for code in ("One", "Two"))
    past = [PastApplication(FIRST - timedelta(30), two.product, Decimal(3))]

    codes = best(a_season(one, an_offer("Soap", price=9), weeks=4, history=past)).codes()

    assert codes.count("One") == 1


@pytest.mark.parametrize(("gap", "is_apart"), [(29, False), (30, True)])
def test_oil_and_sulfur_are_thirty_days_apart(a_season, an_offer, gap, is_apart):
    # 30 days on most oil labels [OIL-LABEL-30]
    once = {"maximum_applications_per_year": 1}
    oil = an_offer("Oil", "UNM", family="oil", changes=once)
    sulfur = an_offer("Sulfur", "UN", family="sulfur", changes=once)
    days = (FIRST, FIRST + timedelta(1), FIRST + timedelta(gap))

    codes = best(a_season(oil, sulfur, an_offer("Soap", price=9), days=days)).codes()

    assert ({"Oil", "Sulfur"} <= {*codes}) is is_apart


@pytest.mark.parametrize(("gap", "is_apart"), [(11, False), (12, True)])
def test_oil_and_captan_are_twelve_days_apart_beside_sulfur(a_season, an_offer, gap, is_apart):
    # [ONTARIO-OIL] ten to twelve days, the stricter; sulfur keeps its own 30 [OIL-LABEL-30]
    once = {"maximum_applications_per_year": 1}
    oil = an_offer("Oil", "UNM", family="oil", changes=once)
    captan = an_offer("Captan", family="captan", changes=once)
    sulfur = an_offer("Sulfur", "UN", family="sulfur", price=99)
    days = (FIRST, FIRST + timedelta(1), FIRST + timedelta(gap))
    offers = (oil, captan, sulfur, an_offer("Soap", price=9))

    codes = best(a_season(*offers, days=days)).codes()

    assert ({"Oil", "Captan"} <= {*codes}) is is_apart


@pytest.mark.parametrize(("days_before", "code"), [(29, "Soap"), (30, "Oil")])
def test_sulfur_in_the_records_keeps_oil_away(a_season, an_offer, days_before, code):
    # 30 days on most oil labels [OIL-LABEL-30]
    sulfur = an_offer("Sulfur", "UN", family="sulfur").product
    past = PastApplication(FIRST - timedelta(days_before), sulfur)
    oil, soap = an_offer("Oil", "UNM", family="oil"), an_offer("Soap", price=9)

    assert best(a_season(oil, soap, weeks=3, history=[past])).codes()[0] == code


@pytest.mark.parametrize(("apart", "codes"), [(13, {"Soap", "Dear"}), (14, {"Soap"})])
def test_the_days_between_applications_are_real_days(a_season, an_offer, weekly, apart, codes):
    soap = an_offer("Soap", changes={"minimum_interval_days": 14})
    season = a_season(soap, an_offer("Dear", price=9), days=weekly(3, apart))

    assert {*best(season).codes()} == codes


def test_a_gap_in_the_dates_lets_a_product_follow_itself(a_season, an_offer):
    soap = an_offer("Soap", changes={"minimum_interval_days": 21})
    days = (FIRST, FIRST + timedelta(7), FIRST + timedelta(28), FIRST + timedelta(35))

    codes = best(a_season(soap, an_offer("Dear", price=9), days=days)).codes()

    assert codes.count("Soap") == 2
    assert codes[0] != codes[1]
    assert codes[2] != codes[3]


def test_the_number_a_year_starts_again_in_january(a_season, an_offer):
    # common practice: the year of a label is the calendar year
    soap = an_offer("Soap", changes={"maximum_applications_per_year": 1})
    days = (date(2026, 12, 18), date(2026, 12, 28), date(2027, 1, 4))

    codes = best(a_season(soap, an_offer("Dear", price=9), days=days)).codes()

    assert codes.count("Soap") == 2
    assert codes[2] == "Soap"


@pytest.mark.parametrize(("past_amount", "uses"), [("1.0", 2), ("1.1", 1)])
def test_the_amount_a_year_counts_the_records(a_season, an_offer, past_amount, uses):
    label = {"maximum_amount_per_year": Decimal(3), "amount_basis": "fl oz/gal"}
    soap = an_offer("Soap", changes=label)
    past = PastApplication(FIRST - timedelta(60), soap.product, Decimal(past_amount))
    season = a_season(soap, an_offer("Dear", price=9), weeks=3, history=[past])

    assert best(season).codes().count("Soap") == uses


def test_an_amount_that_is_not_known_is_warned_of_and_uses_nothing_up(a_season, an_offer):
    # a rate for a gallon beside a limit for the ground, without a calibration to join them
    label = {"maximum_amount_per_year": Decimal(2), "amount_basis": "fl oz/1000 ft2"}
    soap = an_offer("Soap", changes=label, amount_per_1000_sq_ft=None)

    plan = best(a_season(soap, weeks=3, wishes=Wishes(without_warnings=False)))

    assert plan.codes() == ("Soap",) * 3
    assert {each.code for each in plan.findings} == {"amount-unknown"}


def test_a_third_of_the_limit_fits_three_times(a_season, an_offer):
    label = {"maximum_amount_per_year": Decimal(1), "amount_basis": "fl oz/1000 ft2"}
    soap = an_offer("Soap", changes=label, amount_per_1000_sq_ft=Decimal(1) / 3)

    assert best(a_season(soap, an_offer("Dear", price=9), weeks=3)).codes() == ("Soap",) * 3


def test_the_strictest_history_of_the_plantings_counts(a_season, an_offer, a_planting):
    soap = an_offer("Soap", changes={"maximum_applications_per_year": 2})
    season = a_season(soap, an_offer("Dear", price=9), weeks=3)
    past = PastApplication(FIRST - timedelta(60), soap.product)
    second = TreatedPlanting(a_planting(name="Second bed"), (past,))

    codes = best(replace(season, plantings=(*season.plantings, second))).codes()

    assert codes.count("Soap") == 1


@pytest.mark.parametrize(("generation_days", "uses"), [(7, 2), (8, 1)])
def test_neighbouring_generations_do_not_meet_one_group(a_season, an_offer, generation_days, uses):
    # [IRAC-MOA] weeks 1 and 3 lie 14 days apart, two generations of 7 days
    season = a_season(an_offer("Six", "6"), an_offer("Soap", price=9), weeks=3)

    codes = best(replace(season, generation_days=generation_days)).codes()

    assert codes.count("Six") == uses


@pytest.mark.parametrize(("apart", "uses"), [(28, 2), (29, 3)])
def test_four_weeks_part_neighbours(a_season, an_offer, weekly, apart, uses):
    # common practice: applications more than 28 days apart are no neighbours
    offers = (an_offer("Six", "6"), an_offer("Soap", price=9))

    codes = best(a_season(*offers, days=weekly(3, apart), uses_a_season=None)).codes()

    assert codes.count("Six") == uses


def test_a_record_of_the_week_before_bars_its_group_with_the_reason(a_season, an_offer):
    # [IRAC-MOA] successive generations are not treated with one group
    six = an_offer("Six", "6")
    past = PastApplication(FIRST - timedelta(7), six.product)

    answer = compose(a_season(six, an_offer("Soap", price=9), weeks=3, history=[past]))

    assert [each.code for each in answer.barred[1, "Six"]] == ["group-repeated"]


def test_two_records_that_met_already_leave_a_plan_for_the_same_days(a_season, an_offer):
    # what was done is kept as a fact; the season goes on with another group
    six = an_offer("Six", "6")
    past = [PastApplication(FIRST + timedelta(days), six.product) for days in (0, 7)]

    codes = best(a_season(six, an_offer("Soap", price=9), weeks=3, history=past)).codes()

    assert codes == ("Soap",) * 3


def test_a_record_after_a_week_keeps_its_group_from_it(a_season, an_offer):
    # [IRAC-MOA] what was applied three days after the first week is next to the first two
    six = an_offer("Six", "6")
    past = [PastApplication(FIRST + timedelta(3), six.product)]

    codes = best(a_season(six, an_offer("Soap", price=9), weeks=3, history=past)).codes()

    assert codes == ("Soap", "Soap", "Six")


def test_a_record_on_the_day_of_a_week_that_is_left_out_parts_its_neighbours(a_season, an_offer):
    # [IRAC-MOA] another group lies between the two uses
    six = an_offer("Six", "6")
    past = [PastApplication(FIRST + timedelta(7), an_offer("Four", "4").product)]
    skipped = Pin(2, PinKind.SKIPPED)

    plan = best(a_season(six, weeks=3, history=past, pins=(skipped,)))

    assert plan.groups["6"] == 2


def test_uses_in_the_records_count_in_the_season(a_season, an_offer):
    # common practice: two uses of a group a year
    six = an_offer("Six", "6")
    past = [PastApplication(FIRST - timedelta(days), six.product) for days in (60, 90)]
    season = a_season(six, an_offer("Soap", price=9), weeks=3, history=past)

    answer = compose(season)

    assert answer.plans[0].codes() == ("Soap",) * 3
    assert [each.code for each in answer.barred[1, "Six"]] == ["group-too-often"]


def test_the_store_is_not_overdrawn(a_season, an_offer, a_lot):
    soap = an_offer("Soap", lots=(a_lot("Soap", 2),))

    codes = best(a_season(soap, an_offer("Dear", price=9), weeks=3)).codes()

    assert codes.count("Soap") == 2


@pytest.mark.parametrize(("expires", "uses"), [(date(2026, 6, 7), 1), (date(2026, 6, 8), 2)])
def test_a_lot_serves_through_its_last_day(a_season, an_offer, a_lot, expires, uses):
    soap = an_offer("Soap", lots=(a_lot("Soap", 9, expires),))

    codes = best(a_season(soap, an_offer("Dear", price=9), weeks=3)).codes()

    assert codes == ("Soap",) * uses + ("Dear",) * (3 - uses)


def test_an_amount_that_is_not_known_draws_nothing(a_season, an_offer, a_lot):
    soap = an_offer("Soap", lots=(a_lot("Soap", 1),), amount=None)

    assert best(a_season(soap, weeks=3)).codes() == ("Soap",) * 3


def test_what_the_store_lacks_is_bought_at_its_price(a_season, an_offer, a_lot):
    soap = an_offer("Soap", lots=(a_lot("Soap", 1),), buying_price=Decimal(4))

    plan = best(a_season(soap, an_offer("Dear", price=9), weeks=3))

    assert plan.to_buy == {"Soap": 2}
    assert plan.cost == 1 + 4 + 4
    assert [each.code for each in plan.findings] == ["stock-short"]


def test_eggs_are_reached_again_in_time(a_season, an_offer, weekly):
    ovicide = an_offer("Ovicide", price=9, eggs=True)
    season = a_season(ovicide, an_offer("Soap"), days=weekly(5), egg_reach_days=14)

    plan = best(season)

    assert plan.codes() == ("Soap", "Soap", "Ovicide", "Soap", "Soap")


def test_cooler_weather_asks_for_eggs_less_often(a_season, an_offer, weekly):
    ovicide = an_offer("Ovicide", price=9, eggs=True)
    season = a_season(ovicide, an_offer("Soap"), days=weekly(5), egg_reach_days=28)

    assert best(season).codes() == ("Soap",) * 5


def test_an_ovicide_in_the_records_sets_when_the_next_is_due(a_season, an_offer):
    ovicide = an_offer("Ovicide", price=9, eggs=True)
    past = PastApplication(FIRST - timedelta(14), ovicide.product)
    season = a_season(ovicide, an_offer("Soap"), weeks=3, history=[past], egg_reach_days=14)

    assert best(season).codes()[0] == "Ovicide"


def test_eggs_that_nothing_reaches_in_time_are_told_from_the_first_day_on(
    a_season, an_offer, a_week
):
    # three weeks until the first product that acts on eggs, of two that they take
    ovicide = an_offer("Ovicide", eggs=True)
    season = a_season(ovicide, weeks=5, egg_reach_days=14)
    fourth = a_week(4, FIRST + timedelta(21), ovicide.product)

    (late,) = check_eggs(season, [fourth])

    assert (late.facts["since"], late.facts["due"]) == (FIRST, FIRST + timedelta(14))


def test_eggs_that_nothing_reaches_before_the_last_day_are_told(a_season, an_offer, a_week):
    # due again two weeks after the second week, a week before the last day
    ovicide = an_offer("Ovicide", eggs=True)
    season = a_season(ovicide, weeks=5, egg_reach_days=14)
    second = a_week(2, FIRST + timedelta(7), ovicide.product)

    (late,) = check_eggs(season, [second])

    assert (late.facts["since"], late.facts["due"]) == (second.day, FIRST + timedelta(21))


def test_runs_of_crowded_days_are_as_long_as_they_can_be():
    days = [FIRST + timedelta(each) for each in (0, 7, 14, 30, 33)]

    assert list(crowded(days, 15)) == [range(3), range(3, 5)]
    assert list(crowded(days, 14)) == [range(2), range(1, 3), range(3, 5)]


def test_near_is_less_than_the_span_on_both_sides():
    days = [FIRST + timedelta(each) for each in (0, 7, 14)]

    assert near(days, FIRST + timedelta(7), 7) == range(1, 2)
    assert near(days, FIRST + timedelta(7), 8) == range(3)


def test_a_stretch_without_a_day_is_told_as_empty():
    days = [FIRST, FIRST + timedelta(30)]

    assert range(1, 1) in list(stretches(days, [], 14, days[0], days[-1]))


def test_a_visit_on_the_day_it_is_due_is_in_time():
    last = FIRST + timedelta(28)

    assert list(late_after([FIRST + timedelta(14)], 14, FIRST, last)) == []
    assert list(late_after([FIRST + timedelta(15)], 14, FIRST, last)) == [
        (FIRST, FIRST + timedelta(14))
    ]


def test_a_known_visit_on_the_day_one_is_due_leaves_nothing_to_ask_until_then():
    days = [FIRST + timedelta(7 * week) for week in range(5)]

    # by hand: without it one of the days 7 and 14 would be asked for, and one of 14 and 21
    assert list(stretches(days, [], 14, FIRST, days[-1])) == [range(1, 3), range(2, 4)]
    assert list(stretches(days, [FIRST + timedelta(14)], 14, FIRST, days[-1])) == []


def test_a_visit_within_reach_before_or_in_a_season_begins_it():
    last = FIRST + timedelta(21)
    before, week_later = FIRST - timedelta(14), FIRST + timedelta(7)

    assert list(late_after([week_later, last], 14, FIRST, last)) == []
    assert list(late_after([before, week_later], 14, FIRST, last)) == [(before, FIRST)]


def test_visits_long_before_a_season_and_after_it_reach_nothing_in_it():
    last = FIRST + timedelta(28)
    in_time = [FIRST, FIRST + timedelta(14)]

    assert list(late_after([FIRST - timedelta(99), *in_time], 14, FIRST, last)) == []
    assert list(late_after([*in_time, last + timedelta(99)], 14, FIRST, last)) == []
