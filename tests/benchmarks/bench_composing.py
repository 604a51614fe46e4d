"""How much composing a season takes beyond the solver alone, on the same model.

Run by name: `pytest tests/benchmarks/bench_composing.py -s`.  Both sides are timed in one run and
the ratio is what counts: whole answers (checks of every product and week, model, three plans with
all findings) against HiGHS handed the finished model and asked for the same three plans.  Ratios
are of time on the processor, so that what else the machine does does not count.
"""

import random
import sys
from datetime import date, timedelta
from decimal import Decimal
from statistics import median
from time import perf_counter, process_time

import pytest

from treatments.rules.composing import Offer, Season, TreatedPlanting, compose
from treatments.rules.composing.models import model_of
from treatments.rules.composing.solving import Search
from treatments.rules.facts import (
    BloomRule,
    IngredientFacts,
    LotFacts,
    PastApplication,
    PlantingFacts,
    ProductFacts,
    RateFacts,
    SeparationClass,
)

FIRST = date(2026, 4, 6)
GROUPS = ["1B", "3A", "4A", "5", "6", "10A", "10B", "20B", "20D", "21A", "23", "25A", "UN"]
FAMILIES = {"oil": "UNM", "sulfur": "UN", "soap": ""}
ROUNDS, PLANS = 3, 3
MOST_BEYOND = 1.5  # times the solver alone
PATIENCE = 120.0  # seconds on the clock, however busy the machine is


def invented_offer(chance, number):
    """Return an offer of an invented product with limits as labels have them."""
    family = chance.choice(["oil", "sulfur", "soap"]) if chance.random() < 0.25 else ""
    ingredient = IngredientFacts(
        f"active {number}",
        irac_group=FAMILIES[family] if family else chance.choice(GROUPS),
        separation_class=SeparationClass(family),
        bee_hazard=chance.choice(["low", "low", "low", "moderate", "high"]),
        residual_days=0 if family else chance.choice([3, 7, 14, 21]),
        stages_controlled=("egg", "nymph") if chance.random() < 0.4 else ("nymph", "adult"),
    )
    product = ProductFacts(
        name=f"Invented {number}",
        registration_number="",
        ingredients=(ingredient,),
        rates=(RateFacts("rose", "", Decimal(1), Decimal(2), "fl oz/gal"),),
        organic_listed=bool(family),
        minimum_interval_days=7 if family else chance.choice([7, 10, 14, 21]),
        maximum_applications_per_year=8 if family else chance.choice([2, 3, 4]),
        bloom_rule=chance.choice([BloomRule.NONE, BloomRule.NONE, *BloomRule]),
    )
    lots = (LotFacts(product.name, f"L{number}", Decimal(chance.randint(4, 30)), None),)
    price = Decimal(chance.randint(50, 900)) / 100
    return Offer(
        product.name,
        product,
        Decimal(1),
        "fl oz/gal",
        amount=Decimal(4),
        price=price,
        buying_price=price * 2 if chance.random() < 0.5 else None,
        lots=lots,
    )


def invented_season(weeks, products, seed):
    """Return a season in which two weeks lie in bloom and a record stands before the first."""
    chance = random.Random(seed)
    planting = PlantingFacts(
        "Rose bed",
        "rose",
        "Rosa",
        Decimal(500),
        bloom_start="05-10",
        bloom_end="05-24",
        attracts_bees=True,
    )
    offers = tuple(invented_offer(chance, number) for number in range(products))
    past = PastApplication(FIRST - timedelta(5), offers[0].product)
    return Season(
        days=tuple(FIRST + timedelta(7 * week + chance.choice([0, 0, 1])) for week in range(weeks)),
        pest="two-spotted spider mite",
        plantings=(TreatedPlanting(planting, (past,)),),
        offers=offers,
        egg_reach_days=14,
        generation_days=7,
        uses_a_season=3,
    )


def bare(model):
    """Return the solver's three best plans of a model it has been handed, and the seconds."""
    search, found = Search(model, PATIENCE), []
    started = process_time()
    while len(found) < PLANS and (columns := search.best()) is not None:
        found.append(columns)
        search.ask_another_offer(columns)
    return found, process_time() - started


def whole(season):
    """Return the answer to a season and the seconds it takes."""
    started = process_time()
    answer = compose(season, seconds=PATIENCE)
    return answer, process_time() - started


@pytest.mark.parametrize(("weeks", "products"), [(6, 12), (12, 40), (24, 40)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_composing_takes_little_beyond_the_solver(weeks, products, seed, record_property):
    season = invented_season(weeks, products, seed)
    model = model_of(season)
    whole(season)  # whatever is read or imported but once

    rounds = [(bare(model), whole(season)) for _round in range(ROUNDS)]

    (alone, _seconds), (answer, _whole) = rounds[0]
    bare_seconds = median(solver for (_found, solver), _answer in rounds)
    seconds = median(taken for _bare, (_answer, taken) in rounds)
    sys.stdout.write(
        f"\n{weeks} x {products}, seed {seed}: {1000 * seconds:.0f} ms whole, "
        f"{1000 * bare_seconds:.0f} ms solver, ratio {seconds / bare_seconds:.2f}, "
        f"{len(answer.plans)} plans\n"
    )
    assert len(answer.plans) == len(alone) == PLANS
    assert answer.unproven is None
    name = f"composing {weeks} x {products}, seed {seed}, beside the bare solver"
    record_property(name, seconds / bare_seconds / MOST_BEYOND)
    assert seconds / bare_seconds < MOST_BEYOND


def test_a_page_gets_its_answer_within_a_second():
    season = invented_season(12, 40, seed=4)

    started = perf_counter()
    answer = compose(season)
    seconds = perf_counter() - started

    sys.stdout.write(f"\n12 x 40: {1000 * seconds:.0f} ms on the clock\n")
    assert len(answer.plans) == PLANS
    assert seconds < 1


@pytest.mark.parametrize("seed", [4, 15])
def test_the_hardest_of_thirty_seasons_are_proven(seed):
    started = perf_counter()
    answer = compose(invented_season(24, 40, seed))

    sys.stdout.write(f"\n24 x 40, seed {seed}: {perf_counter() - started:.1f} s on the clock\n")
    assert len(answer.plans) == PLANS
    assert answer.unproven is None
