"""What a visit counts for: dollars, risk to beneficials, and how the wishes weigh them.

The scale is our own: one point of risk weighs as much as one dollar, a warning that is accepted as
much as fifty, and a wish counts its side ten times.  It orders plans and claims nothing else.
"""

from dataclasses import dataclass
from decimal import Decimal

from treatments.rules.composing.families import Family
from treatments.rules.composing.seasons import Offer, Season, Wishes
from treatments.rules.facts import IngredientFacts, ProductFacts

HAZARD_POINTS = {"low": Decimal(1), "moderate": Decimal(3), "high": Decimal(9)}  # our own scale
POLLEN_POINTS = Decimal(3)  # our own scale
WISHED = Decimal(10)
DOLLARS_A_WARNING = Decimal(50)
# Where few visits are wished it is more than any product saves; where visits are given up it is
# counted the other way, so that only those fall away that stand in the way.
DOLLARS_A_VISIT = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Weights:
    """What one dollar, one point of risk, one visit and one warning count for."""

    cost: Decimal
    risk: Decimal
    visit: Decimal
    warning: Decimal


def weights_of(wishes: Wishes) -> Weights:
    """Return how the wishes weigh cost, risk, visits and warnings against each other.

    >>> weights_of(Wishes(cheapest=True)).cost
    Decimal('10')
    """
    return Weights(
        cost=WISHED if wishes.cheapest else Decimal(1),
        risk=WISHED if wishes.gentlest else Decimal(1),
        visit=_weight_of_a_visit(wishes),
        warning=DOLLARS_A_WARNING,
    )


def _weight_of_a_visit(wishes: Wishes) -> Decimal:
    if wishes.fewest_visits:
        return DOLLARS_A_VISIT
    return -DOLLARS_A_VISIT if Family.VISITS in wishes.given_up else Decimal(0)


def risk_to_beneficials(product: ProductFacts) -> Decimal:
    """Return points for the harm to bees and other beneficials: of its worst ingredient.

    The bee hazard counts once, once more for each full week of residue, and moving into pollen
    adds to it; a scale of our own that only orders products.

    >>> from treatments.rules.facts import IngredientFacts
    >>> mild = IngredientFacts("soap")
    >>> long = IngredientFacts("pyrethroid", bee_hazard="high", residual_days=14)
    >>> risk_to_beneficials(ProductFacts("Mix", "", (mild, long), ()))
    Decimal('27')
    """
    return max((_risk(each) for each in product.ingredients), default=Decimal(0))


def _risk(ingredient: IngredientFacts) -> Decimal:
    weeks = 1 + ingredient.residual_days // 7
    pollen = POLLEN_POINTS if ingredient.moves_into_pollen else Decimal(0)
    return HAZARD_POINTS[ingredient.bee_hazard] * weeks + pollen


def risk_of(offer: Offer) -> Decimal:
    """Return the risk that the offer states, else that of its product."""
    return risk_to_beneficials(offer.product) if offer.risk is None else offer.risk


def cost_is_known(offer: Offer) -> bool:
    """Say whether amount and price of an offer are both known."""
    return offer.amount is not None and offer.unit_price() is not None


def product_cost(offer: Offer) -> Decimal:
    """Return the dollars of product for a visit, from the store; unknown counts nothing.

    >>> from treatments.rules.facts import ProductFacts
    >>> soap = ProductFacts("Soap", "", (), ())
    >>> product_cost(Offer("soap", soap, Decimal(1), "fl oz/gal", Decimal(4), price=Decimal("0.5")))
    Decimal('2.0')
    """
    price = offer.unit_price()
    return Decimal(0) if offer.amount is None or price is None else offer.amount * price


def costs_weighed(season: Season) -> list[Decimal]:
    """Return what each offer's visit counts as cost; an unknown cost counts as the dearest."""
    dearest = max((product_cost(offer) for offer in season.offers), default=Decimal(0))
    return [product_cost(each) if cost_is_known(each) else dearest for each in season.offers]


def surcharge(offer: Offer) -> Decimal:
    """Return what a bought unit costs beyond one that the store holds, in dollars; unknown is 0."""
    if offer.buying_price is None:
        return Decimal(0)
    return offer.buying_price - (offer.unit_price() or Decimal(0))
