"""Composed plans against every possible plan of small seasons, judged by the checks alone.

The search below knows nothing of the model: it tries all products in all weeks, lets the checks of
a rotation say what is refused, and counts gaps, lots and dollars one visit at a time.
"""

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import product as every

import pytest

from treatments.rules.composing import Pin, PinKind, Wishes, compose, risk_to_beneficials
from treatments.rules.composing.visit_rows import reaches_eggs
from treatments.rules.facts import BloomRule, PastApplication, PlannedApplication
from treatments.rules.findings import Severity, refuses
from treatments.rules.resistance import check_resistance
from treatments.rules.rotation_checks import check_application, check_rotation
from treatments.rules.stock import check_stock

SEEDS = range(40)
EXPIRIES = [None, date(2026, 6, 4), date(2026, 6, 10)]
GROUPS = ["6", "10A", "10B", "20B", "6+23", ""]


def invented_offer(chance, code, an_offer, a_lot):
    family = chance.choice(["", "", "", "oil", "sulfur"])
    group = {"oil": "UNM", "sulfur": "UN"}.get(family) or chance.choice(GROUPS)
    lots = (
        a_lot(code, chance.randint(0, 2), None, "A"),
        a_lot(code, chance.randint(0, 2), chance.choice(EXPIRIES), "B"),
    )
    label = {
        "minimum_interval_days": chance.choice([None, 7, 10, 14]),
        "maximum_applications_per_year": chance.choice([None, 1, 2]),
        "maximum_amount_per_year": chance.choice([None, Decimal(2)]),
        "amount_basis": "fl oz/gal",
        "bloom_rule": chance.choice([BloomRule.NONE, BloomRule.NONE, *BloomRule]),
        "organic_listed": chance.random() < 0.7,
    }
    return an_offer(
        code,
        group,
        family=family,
        eggs=chance.random() < 0.5,
        changes=label,
        price=chance.randint(1, 9),
        lots=chance.choice([None, lots]),
        buying_price=chance.choice([None, Decimal(chance.randint(4, 12))]),
    )


def invented_pins(chance, offers):
    week, offer = chance.choice([1, 2, 3]), chance.choice(offers)
    pin = chance.choice([Pin(week, PinKind.SKIPPED), Pin(week, PinKind.FIXED, offer.code)])
    return (pin,) if chance.random() < 0.4 else ()


def real_days(chance, first, weeks):
    days = [first]
    while len(days) < weeks:
        days.append(days[-1] + timedelta(chance.choice([5, 7, 7, 10, 16])))
    return tuple(days)


def invented_season(chance, a_season, an_offer, a_planting, a_lot):
    codes = "ABCDE"[: chance.choice([4, 5])]
    offers = [invented_offer(chance, code, an_offer, a_lot) for code in codes]
    start, end = chance.choice([("", ""), ("06-05", "06-12")])
    past = PastApplication(
        date(2026, 5, chance.choice([12, 23, 29])), chance.choice(offers).product
    )
    season = a_season(
        *offers,
        planting=a_planting(bloom_start=start, bloom_end=end, organic_only=chance.random() < 0.1),
        history=[past] if chance.random() < 0.6 else [],
    )
    fewest = chance.random() < 0.3
    return replace(
        season,
        days=real_days(chance, season.days[0], chance.choice([3, 4])),
        pins=invented_pins(chance, offers),
        egg_reach_days=chance.choice([None, 14, 20]),
        generation_days=chance.choice([None, 4, 7]),
        visit_reach_days=17 if fewest else None,
        uses_a_season=chance.choice([1, 2, 3, None]),
        wishes=Wishes(
            organic_only=chance.random() < 0.1,
            gentlest=chance.random() < 0.3,
            fewest_visits=fewest,
            without_warnings=chance.random() < 0.7,
        ),
    )


def all_plans(season):
    """Return every plan that nothing speaks against, as codes with what it counts for."""
    found = {}
    for offers in every([*season.offers, None], repeat=len(season.days)):
        if keeps_weeks(season, offers):
            applications = [
                at_best_hour(season, week, offer) for week, offer in enumerate(offers, 1) if offer
            ]
            if is_lawful(season, applications) and is_wished(season, offers, applications):
                codes = tuple(offer.code if offer else "" for offer in offers)
                found[codes] = objective(season, offers, applications)
    return found


def keeps_weeks(season, offers):
    for week, offer in enumerate(offers, 1):
        pin, code = season.pin_of(week), offer.code if offer else ""
        if pin is not None and pin.code != code:
            return False
        if pin is None and not code and not season.wishes.fewest_visits:
            return False
    return True


def at_best_hour(season, week, offer):
    by_day = PlannedApplication(
        week,
        season.days[week - 1],
        offer.product,
        season.pest,
        offer.rate,
        offer.basis,
        amount=Decimal(1),
    )
    planting = season.plantings[0].planting

    def gravity(application):
        said = [each.severity for each in check_application(application, planting)]
        return said.count(Severity.REFUSAL), said.count(Severity.WARNING)

    return min(by_day, replace(by_day, at_dusk=True), key=gravity)


def is_lawful(season, applications):
    (treated,) = season.plantings
    found = check_rotation(applications, planting=treated.planting, history=treated.history)
    return not refuses(found)


def is_wished(season, offers, applications):
    (treated,) = season.plantings
    limit = 99 if season.uses_a_season is None else season.uses_a_season
    if check_resistance(
        applications,
        treated.history,
        generation_days=season.generation_days,
        uses_a_season=limit,
    ):
        return False
    if season.wishes.without_warnings and any(warnings(season, each) for each in applications):
        return False
    if season.wishes.organic_only and not all(each.product.organic_listed for each in applications):
        return False
    return is_in_store(season, applications) and is_in_time(season, offers, applications)


def warnings(season, application):
    found = check_application(application, season.plantings[0].planting)
    return sum(each.severity is Severity.WARNING for each in found)


def is_in_store(season, applications):
    for offer in season.offers:
        if offer.lots is not None and offer.buying_price is None:
            mine = [each for each in applications if each.product.name == offer.code]
            if any(each.code == "stock-short" for each in check_stock(mine, offer.lots)):
                return False
    return True


def is_in_time(season, offers, applications):
    applied = [*season.plantings[0].history, *applications]
    eggs = [each.day for each in applied if reaches_eggs(each.product)]
    if season.egg_reach_days is not None and comes_late(season, eggs, season.egg_reach_days):
        return False
    if not season.wishes.fewest_visits:
        return True
    if comes_late(season, [each.day for each in applied], 17):
        return False
    free = [week for week in range(1, len(offers) + 1) if not is_skipped(season, week)]
    past = [each.day for each in season.plantings[0].history]
    soon = any((season.days[free[0] - 1] - day).days <= 17 for day in past)
    return soon or offers[free[0] - 1] is not None


def is_skipped(season, week):
    pin = season.pin_of(week)
    return pin is not None and pin.kind is PinKind.SKIPPED


def comes_late(season, visits, reach):
    since = season.days[0]
    for day in sorted(visits):
        if day < season.days[0] and (season.days[0] - day).days <= reach:
            since = day
    for day in [*sorted(day for day in visits if day >= season.days[0]), season.days[-1]]:
        if (day - since).days > reach:
            return True
        since = day
    return False


def objective(season, offers, applications):
    used = [offer for offer in offers if offer]
    total = sum(min(each.price, each.buying_price or each.price) for each in used)
    for offer in set(used):
        missing = bought(
            offer, [each.day for each in applications if each.product is offer.product]
        )
        total += missing * (
            (offer.buying_price or 0) - min(offer.price, offer.buying_price or offer.price)
        )
    risk = sum(risk_to_beneficials(each.product) for each in used)
    total += risk * (10 if season.wishes.gentlest else 1)
    total += 50 * sum(warnings(season, each) for each in applications)
    return total + (1000 * len(used) if season.wishes.fewest_visits else 0)


def bought(offer, days):
    if offer.lots is None:
        return 0
    left = {lot: lot.balance for lot in offer.lots}
    missing = 0
    for day in sorted(days):
        good = [lot for lot in left if left[lot] and (lot.expires_on or date.max) >= day]
        if good:
            left[min(good, key=lambda lot: lot.expires_on or date.max)] -= 1
        else:
            missing += 1
    return missing


def best_of_other_products(plans, number):
    """Return what the best plans count for of which each brings what each before it lacks."""
    taken, counts = [], []
    for codes, counted in sorted(plans.items(), key=lambda each: each[1]):
        used = set(codes) - {""}
        if len(taken) < number and all(used - before for before in taken):
            taken.append(used)
            counts.append(counted)
    return counts


@pytest.fixture
def a_chance_season(a_season, an_offer, a_planting, a_lot):
    return lambda seed: invented_season(random.Random(seed), a_season, an_offer, a_planting, a_lot)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_three_best_plans_are_those_of_a_search_through_all(a_chance_season, seed):
    season = a_chance_season(seed)
    plans = all_plans(season)

    answer = compose(season, of_other_products=False)

    assert [plan.objective for plan in answer.plans] == sorted(plans.values())[:3]
    assert all(plans[plan.codes()] == plan.objective for plan in answer.plans)
    assert len({plan.codes() for plan in answer.plans}) == len(answer.plans)
    assert not any(refuses(list(plan.findings)) for plan in answer.plans)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_plan_and_the_next_of_other_products_are_those_of_the_search(
    a_chance_season, seed
):
    season = a_chance_season(seed)
    counted = best_of_other_products(all_plans(season), 2)

    answer = compose(season)

    assert [plan.objective for plan in answer.plans[:1]] == counted[:1]
    assert bool(answer.conflict) is not bool(counted)
