"""A rose bed, invented products on offer for it, and seasons of real days."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from treatments.rules.composing import Offer, Season, TreatedPlanting
from treatments.rules.facts import IngredientFacts, LotFacts, SeparationClass

FIRST = date(2026, 6, 1)


@pytest.fixture
def weekly():
    """Return so many days, a week apart unless told."""
    return lambda weeks, apart=7: tuple(FIRST + timedelta(apart * week) for week in range(weeks))


@pytest.fixture
def an_offer(a_product):
    """Return an offer of an invented product of a mode of action, changed as a test asks."""

    def build(code, group="", *, price=1, eggs=False, family="", changes=None, **others):
        stages = ("egg", "nymph") if eggs else ("nymph", "adult")
        groups = group.split("+") if group else [""]
        ingredients = tuple(
            IngredientFacts(
                f"active {code}{each}",
                irac_group=each,
                separation_class=SeparationClass(family),
                stages_controlled=stages,
            )
            for each in groups
        )
        product = a_product(code, ingredients=ingredients, **(changes or {}))
        offer = Offer(code, product, Decimal(1), "fl oz/gal", Decimal(1), price=Decimal(price))
        return replace(offer, **others)

    return build


@pytest.fixture
def a_lot():
    """Return a lot of a product."""

    def build(product, balance, expires_on=None, number="A"):
        return LotFacts(product, number, Decimal(balance), expires_on)

    return build


@pytest.fixture
def a_season(a_planting, weekly):
    """Return a season of some offers on the rose bed, changed as a test asks."""

    def build(*offers, weeks=4, history=(), planting=None, **changes):
        treated = TreatedPlanting(planting or a_planting(), tuple(history))
        season = {"days": weekly(weeks), "pest": "two-spotted spider mite", "offers": offers}
        return Season(**(season | {"plantings": (treated,)} | changes))

    return build
