"""How long a page of proposals takes, from the address to the whole page.

Run by name: `pytest tests/benchmarks/bench_proposing.py -s`.
"""

import random
from decimal import Decimal
from statistics import median
from time import perf_counter

import pytest

from tests.shelf import EVERY_STAGE, kept
from treatments.models import ActiveIngredient

GROUPS = ["1B", "3A", "4A", "5", "6", "10A", "10B", "20B", "20D", "21A", "23", "25A", "UN"]
ROUNDS = 5


def invent(by, number):
    """Put an invented product of a mode of action into book and store."""
    chance = random.Random(number)
    stages = EVERY_STAGE if chance.random() < 0.4 else ["nymph", "adult"]
    return kept(
        f"Invented {number}",
        f"active {number}",
        chance.choice(GROUPS),
        stages,
        {"maximum_applications_per_year": chance.choice([2, 3, 4])},
        by,
        amount=Decimal(chance.randint(4, 30)),
    )


@pytest.mark.parametrize(("weeks", "products"), [(6, 12), (12, 40)])
def test_a_change_of_a_week_is_answered_within_a_second(
    client, owner, rose_bed, spider_mite, applicator, weeks, products, record_property
):
    pinned, *_others = [invent(owner, number) for number in range(products)]
    ActiveIngredient.objects.filter(name__endswith="3").update(residual_days=14)
    client.force_login(owner)
    query = {
        "asked": "1",
        "plantings": rose_bed.pk,
        "pest": spider_mite.pk,
        "first_day": "2027-05-03",
        "weeks": weeks,
        "nights_f": "62",
        "afternoons_f": "80",
        "rates": "lowest",
        "dusk_possible": "on",
        "may_buy": "on",
        "pin": [f"2:{pinned.pk}", "4:skip"],
        "plan": "1",
        "why": "3",
    }
    times = []
    for _round in range(ROUNDS):
        started = perf_counter()
        page = client.get("/rotations/propose/", query)
        times.append(perf_counter() - started)

    record_property(f"a page that proposes, {weeks} x {products}", median(times))
    assert page.status_code == 200
    assert median(times) < 1, f"{weeks} x {products}: {1000 * median(times):.0f} ms a page"
