"""The rates of a proposal where labels give a range: which, why, and what was typed instead."""

from collections.abc import Iterator
from dataclasses import dataclass

from treatments.forms.proposing import OWN_RATE
from treatments.models import Product
from treatments.proposing import Proposed
from treatments.rules.findings import Finding, Severity
from treatments.views.facts import plain


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate within a label's range.

    typed: what a person chose, empty where the book did
    """

    product: Product
    name: str
    rate: str
    lowest: str
    highest: str
    basis: str
    typed: str
    why: Finding | None
    is_wrong: bool


def rates_of(proposed: Proposed) -> Iterator[Rate]:
    """Yield the products on offer whose label gives a range, those of the rotations first."""
    used = {code for plan in proposed.answer.plans for code in plan.codes()}
    offers = sorted(proposed.answer.season.offers, key=lambda each: each.code not in used)
    for offer in offers:
        lowest, highest = offer.label_range or (offer.rate, offer.rate)
        is_wrong = offer.why_rate is not None and offer.why_rate.severity is Severity.WARNING
        if lowest == highest and not is_wrong:
            continue
        own = proposed.asked.own_rates.get(int(offer.code))
        yield Rate(
            product=proposed.products[offer.code],
            name=f"{OWN_RATE}{offer.code}",
            rate=str(plain(offer.rate)),
            lowest=str(plain(lowest)),
            highest=str(plain(highest)),
            basis=offer.basis,
            typed="" if own is None else str(plain(own)),
            why=offer.why_rate,
            is_wrong=is_wrong,
        )
