"""How much composing a season takes beyond the solver alone, on the same model.

Run by name: `pytest tests/benchmarks/bench_composing.py -s`.  Both sides are timed in one run and
the ratio is what counts: whole answers (checks of every product and week, model, three plans with
all findings) against HiGHS handed the finished model and asked for the same three plans.
"""

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from statistics import median
from time import perf_counter

import highspy
import numpy as np
import pytest

from treatments.rules.composing import Offer, Season, TreatedPlanting, compose
from treatments.rules.composing.models import model_of
from treatments.rules.composing.solving import program
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
ROUNDS = 5


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


def bare(costs, matrix, binaries):
    """Return the solver's three best plans of a finished model, and nothing else."""
    solver = highspy.Highs()
    for option, value in [("output_flag", False), ("threads", 1), ("mip_rel_gap", 0.0)]:
        solver.setOptionValue(option, value)
    solver.passModel(program(costs, matrix, binaries))
    found = []
    for _round in range(3):
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            break
        chosen = np.array(solver.getSolution().col_value[:binaries]) > 0.5
        found.append(solver.getInfo().objective_function_value)
        places = np.arange(binaries, dtype=np.int32)
        weights = np.where(chosen, 1.0, -1.0)
        solver.addRow(-highspy.kHighsInf, chosen.sum() - 1.0, binaries, places, weights)
    return found


def seconds_of(act):
    """Return what an act gives, and how long it takes: the median of some rounds."""
    times = []
    for _round in range(ROUNDS):
        started = perf_counter()
        result = act()
        times.append(perf_counter() - started)
    return result, median(times)


@pytest.mark.parametrize(("weeks", "products"), [(6, 12), (12, 40), (24, 40)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_composing_takes_little_beyond_the_solver(weeks, products, seed):
    season = invented_season(weeks, products, seed)
    model = model_of(season)
    kept, costs, matrix = model.part()
    binaries = int(np.searchsorted(kept, len(model.candidates)))

    alone, bare_seconds = seconds_of(lambda: bare(costs, matrix, binaries))
    answer, seconds = seconds_of(lambda: compose(season))

    print(
        f"\n{weeks} x {products}, seed {seed}: {1000 * seconds:.0f} ms whole, "
        f"{1000 * bare_seconds:.0f} ms solver, ratio {seconds / bare_seconds:.2f}, "
        f"{len(answer.plans)} plans"
    )
    assert [float(plan.objective) for plan in answer.plans] == pytest.approx(alone)


def test_a_page_gets_its_answer_within_a_second():
    season = replace(invented_season(12, 40, 4))

    _answer, seconds = seconds_of(lambda: compose(season))

    assert seconds < 1
