"""The products of the book as offers: rate, amount, price and lots; or why one is left out."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from treatments.checking import planned_application
from treatments.gathering import lot_facts, product_facts, treated_area_of, with_labels
from treatments.models import LabelRate, Lot, Product
from treatments.proposing.asking import Asked
from treatments.proposing.pressing import times_threshold
from treatments.reserving import reserved_amounts
from treatments.rules.composing import Offer
from treatments.rules.facts import LotFacts, PlannedApplication, ProductFacts
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.rate_choice import ChosenRate, LabelRange, choose_rate
from treatments.rules.targets import may_hold
from treatments.rules.units import Basis

NO_RATE = gettext_noop("The label of %(product)s gives no rate for %(site)s against %(pest)s.")
READ_LABEL = gettext_noop("Enter the rate where the label has one.")
HOLDS_NOT = gettext_noop("%(product)s is not known to hold %(pest)s.")
NAME_PEST = gettext_noop("Where its label names the pest, enter the rate with the pest.")


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A product that is not on offer, and why."""

    product: Product
    finding: Finding


@dataclass(frozen=True, slots=True)
class Shelf:
    """What is left of a product in the store, and what a unit of it did cost."""

    lots: tuple[LotFacts, ...] = ()
    unit_cost: Decimal | None = None


def all_products() -> list[Product]:
    """Return the products of the book with their labels, in three queries."""
    return list(with_labels(Product.objects.order_by("name")))


def shelves() -> Mapping[int, Shelf]:
    """Return what the store holds by the product's id, without what is promised to visits."""
    lots = list(Lot.objects.select_related("product").with_balance().filter(balance__gt=0))
    reserved = reserved_amounts(lots)
    by_product: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots:
        by_product[lot.product_id].append(lot)
    return {pk: _shelf(held, reserved) for pk, held in by_product.items()}


def _shelf(lots: Sequence[Lot], reserved: Mapping[int, Decimal]) -> Shelf:
    facts = [lot_facts(lot) for lot in lots]
    left = [
        replace(each, balance=each.balance - reserved.get(lot.pk, Decimal(0)))
        for each, lot in zip(facts, lots, strict=True)
    ]
    return Shelf(tuple(each for each in left if each.balance > 0), _mean_cost(lots))


def _mean_cost(lots: Iterable[Lot]) -> Decimal | None:
    priced = [(lot.balance, lot.unit_cost) for lot in lots if lot.unit_cost is not None]
    if not priced:
        return None
    worth = sum((balance * cost for balance, cost in priced), Decimal(0))
    return (worth / sum(balance for balance, _cost in priced)).quantize(Decimal("0.0001"))


def offers_of(
    asked: Asked, products: Iterable[Product], facts: Mapping[int, ProductFacts]
) -> tuple[list[Offer], list[LeftOut]]:
    """Return the pesticides that may be proposed, and those that may not with the reason."""
    held, times = shelves(), times_threshold(asked)
    offers, left_out = [], []
    for product in products:
        if product.kind != Product.Kind.PESTICIDE:
            continue
        rate = label_rate(product, asked)
        if finding := _against(product, rate, asked):
            left_out.append(LeftOut(product, finding))
        elif rate is not None:
            shelf = held.get(product.pk, Shelf())
            chosen = _chosen(product, rate, asked, times)
            offers.append(_offer(product, facts[product.pk], (rate, chosen), shelf, asked))
    return offers, left_out


def label_rate(product: Product, asked: Asked) -> LabelRate | None:
    """Return the label's rate for the site: one that names the pest before one for any."""
    rates = [rate for rate in product.rates.all() if rate.plant_group == asked.plant_group()]
    named = [rate for rate in rates if rate.pest_id == asked.pest.pk]
    return next(iter(named + [rate for rate in rates if rate.pest_id is None]), None)


def _against(product: Product, rate: LabelRate | None, asked: Asked) -> Finding | None:
    site = asked.plantings[0].get_plant_group_display()
    facts = {"product": product.name, "pest": str(asked.pest), "site": str(site)}
    if rate is None:
        return Finding("no-rate", Severity.NOTE, NO_RATE, READ_LABEL, facts, "label")
    actives = [content.ingredient.name for content in product.contents.all()]
    holds = may_hold(actives, asked.pest.common_name, is_mite=asked.pest.is_mite)
    if rate.pest_id is None and actives and not holds:
        return Finding("holds-not", Severity.NOTE, HOLDS_NOT, NAME_PEST, facts, "common practice")
    return None


def _chosen(
    product: Product, rate: LabelRate, asked: Asked, times_threshold: float | None
) -> ChosenRate:
    label = LabelRange(product.name, rate.minimum, rate.maximum, rate.basis)
    own = asked.own_rates.get(product.pk)
    return choose_rate(label, asked.rates, times_threshold=times_threshold, own=own)


def _offer(
    product: Product,
    facts: ProductFacts,
    rates: tuple[LabelRate, ChosenRate],
    shelf: Shelf,
    asked: Asked,
) -> Offer:
    rate, chosen = rates
    planned = [
        planned_application(
            product=product,
            facts=facts,
            pest=asked.pest,
            plant_group=asked.plant_group(),
            rate=chosen.rate,
            basis=Basis(rate.basis),
            day=asked.first_day,
            area_sq_ft=treated_area_of(planting),
        )
        for planting in asked.plantings
    ]
    return Offer(
        code=str(product.pk),
        product=facts,
        rate=chosen.rate,
        basis=rate.basis,
        amount=_together(planned),
        amount_per_1000_sq_ft=planned[0].amount_per_1000_sq_ft,
        price=shelf.unit_cost if shelf.unit_cost is not None else product.price,
        buying_price=product.price if asked.may_buy else None,
        lots=shelf.lots,
        label_range=(rate.minimum, rate.maximum),
        why_rate=chosen.why,
    )


def _together(planned: Sequence[PlannedApplication]) -> Decimal | None:
    """Return what all plantings take; one that is not known makes the whole unknown."""
    amounts = [each.amount for each in planned if each.amount is not None]
    return sum(amounts, Decimal(0)) if len(amounts) == len(planned) else None


def facts_of(products: Iterable[Product]) -> dict[int, ProductFacts]:
    """Return what the labels say, by the product's id."""
    return {product.pk: product_facts(product) for product in products}
