"""Gathers a season from the book, and asks the composer for the best rotations."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from treatments.gathering import certificate_facts, planting_facts
from treatments.models import Certificate, Product
from treatments.proposing.asking import Asked
from treatments.proposing.offers import LeftOut, all_products, facts_of, offers_of
from treatments.proposing.past import Past, past_of, pins_of
from treatments.rules.composing import Answer, Season, TreatedPlanting, compose
from treatments.rules.egg_reach import EggReach
from treatments.rules.facts import CertificateFacts
from treatments.rules.findings import Finding

PLANS = 3


class NothingOnOffer(ValueError):
    """No product of the book may be proposed; it carries those left out, each with the reason."""

    def __init__(self, left_out: Sequence[LeftOut]) -> None:
        super().__init__("No product of the book is on offer.")
        self.left_out = tuple(left_out)


@dataclass(frozen=True, slots=True)
class Proposed:
    """What came of asking: the composer's answer with all that is needed to show it.

    products: on offer, by their code
    left_out: products that are not, each with the reason
    gone: weeks that were fixed to a product that is not on offer any more, and are free again
    """

    asked: Asked
    answer: Answer
    products: Mapping[str, Product]
    left_out: tuple[LeftOut, ...]
    egg_reach: EggReach
    gone: tuple[int, ...] = ()

    def notes(self) -> list[Finding]:
        """Return what is said beside the answer: how soon eggs, and what was not proven."""
        unproven = self.answer.unproven
        return [self.egg_reach.finding, *([unproven] if unproven else [])]


def propose(asked: Asked, *, plans: int = PLANS) -> Proposed:
    """Return the best rotations from the products of the book, or why there is none.

    Raise NothingOnOffer where no product may be proposed, SeasonUnusable or ProofMissing as the
    composer does.
    """
    products = all_products()
    facts = facts_of(products)
    offers, left_out = offers_of(asked, products, facts)
    if not offers:
        raise NothingOnOffer(left_out)
    past = past_of(asked, facts)
    pins, gone = pins_of(asked, past, {offer.code for offer in offers})
    reach = asked.egg_reach()
    season = Season(
        days=asked.days(),
        pest=asked.pest.named(),
        plantings=_treated(asked, past),
        offers=tuple(offers),
        wishes=asked.wishes,
        pins=tuple(pins),
        certificates=_certificates(asked),
        egg_reach_days=reach.days,
        generation_days=reach.generation_days,
        visit_reach_days=asked.visit_reach_days or reach.visit_days,
    )
    return Proposed(
        asked=asked,
        answer=compose(season, plans=plans),
        products={str(product.pk): product for product in products},
        left_out=tuple(left_out),
        egg_reach=reach,
        gone=gone,
    )


def _treated(asked: Asked, past: Past) -> tuple[TreatedPlanting, ...]:
    return tuple(
        TreatedPlanting(planting_facts(planting), tuple(past.history.get(planting.pk, ())))
        for planting in asked.plantings
    )


def _certificates(asked: Asked) -> tuple[CertificateFacts, ...]:
    places = {planting.property.jurisdiction for planting in asked.plantings}
    held = Certificate.objects.filter(jurisdiction__in=places).select_related("applicator")
    return tuple(certificate_facts(each) for each in held)
