"""What is read once for a check, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from clients.models import Planting
from treatments.gathering import (
    certificate_facts,
    earlier_application,
    local_day,
    lot_facts,
    past_application,
    product_facts,
    with_labels,
)
from treatments.models import ApplicationRecord, Certificate, EarlierApplication, Lot, Product
from treatments.rules.facts import CertificateFacts, LotFacts, PastApplication, ProductFacts

HISTORY_DAYS = 365


@dataclass(frozen=True, slots=True)
class Book:
    """Labels, plantings with their history, the store and the certificates of their places."""

    products: dict[int | None, Product]
    facts: dict[int | None, ProductFacts]
    plantings: list[Planting]
    history: dict[int, list[PastApplication]]
    lots: list[LotFacts]
    certificates: list[CertificateFacts]


def open_book(
    product_ids: Iterable[int | None], plantings: Sequence[Planting], first_day: date
) -> Book:
    """Read what a check of products on plantings from a first day needs."""
    places = _with_places(plantings)
    records = history_of_plantings(places, first_day) if places else {}
    earlier = earlier_on(places, first_day) if places else []
    used = {record.product_id for kept in records.values() for record in kept}
    used |= {each.product_id for each in earlier if each.product_id is not None}
    wanted = used.union(pk for pk in product_ids if pk is not None)
    products: dict[int | None, Product] = {
        each.pk: each for each in with_labels(Product.objects.filter(pk__in=wanted))
    }
    facts = {pk: product_facts(product) for pk, product in products.items()}
    history: dict[int, list[PastApplication]] = defaultdict(list)
    for each in earlier:
        history[each.planting_id].append(earlier_application(each, facts[each.product_id]))
    for pk, kept in records.items():
        history[pk] += [past_application(record, facts[record.product_id]) for record in kept]
    return Book(
        products=products,
        facts=facts,
        plantings=places,
        history=history,
        lots=_lots(products.values()) if places else [],
        certificates=_certificates(places) if places else [],
    )


def history_of_plantings(
    plantings: Iterable[Planting], before: date, ahead: timedelta = timedelta()
) -> dict[int, list[ApplicationRecord]]:
    """Return the records that stand on plantings in the year before a day, by planting.

    ahead: how far beyond that day records are read as well
    """
    first = before - timedelta(days=HISTORY_DAYS)
    # A day more on either side: the place's own clock decides below which day it was.
    since = datetime.combine(first - timedelta(days=1), time(), UTC)
    last = before + ahead
    until = datetime.combine(last + timedelta(days=2), time(), UTC)
    records = ApplicationRecord.objects.current().filter(
        planting__in=list(plantings), done_at__gte=since, done_at__lt=until
    )
    by_planting: dict[int, list[ApplicationRecord]] = defaultdict(list)
    for record in records.order_by("done_at", "number"):
        if first <= local_day(record) < last:
            by_planting[record.planting_id].append(record)
    return by_planting


def earlier_on(plantings: Sequence[Planting], before: date) -> list[EarlierApplication]:
    """Return what was taken over from elsewhere of the year before a day, products known."""
    days = (before - timedelta(days=HISTORY_DAYS), before - timedelta(days=1))
    found = EarlierApplication.objects.filter(
        planting__in=plantings, product__isnull=False, applied_on__range=days
    )
    return list(found.order_by("applied_on", "pk"))


def taken_over(plantings: Sequence[Planting], before: date) -> dict[int, list[PastApplication]]:
    """Return what was taken over from elsewhere of the year before a day, by planting."""
    found = earlier_on(plantings, before)
    wanted = {each.product_id for each in found if each.product_id is not None}
    products = with_labels(Product.objects.filter(pk__in=wanted)) if wanted else ()
    facts = {product.pk: product_facts(product) for product in products}
    by_planting: dict[int, list[PastApplication]] = defaultdict(list)
    for each in found:
        if each.product_id is not None:
            past = earlier_application(each, facts[each.product_id])
            by_planting[each.planting_id].append(past)
    return by_planting


def applied_on(plantings: Sequence[Planting], before: date) -> dict[int, list[PastApplication]]:
    """Return what was applied in the year before a day, recorded or taken over, by planting."""
    records = history_of_plantings(plantings, before)
    wanted = {record.product_id for kept in records.values() for record in kept}
    products = with_labels(Product.objects.filter(pk__in=wanted)) if wanted else ()
    facts = {product.pk: product_facts(product) for product in products}
    by_planting = taken_over(plantings, before)
    for pk, kept in records.items():
        by_planting[pk] += [past_application(record, facts[record.product_id]) for record in kept]
    return by_planting


def _with_places(plantings: Sequence[Planting]) -> list[Planting]:
    if not plantings:
        return []
    wanted = [planting.pk for planting in plantings]
    return list(Planting.objects.filter(pk__in=wanted).select_related("property__client"))


def _lots(products: Iterable[Product]) -> list[LotFacts]:
    lots = Lot.objects.filter(product__in=list(products)).select_related("product")
    return [lot_facts(lot) for lot in lots.with_balance().filter(balance__gt=0)]


def _certificates(plantings: Sequence[Planting]) -> list[CertificateFacts]:
    places = {planting.property.jurisdiction for planting in plantings}
    held = Certificate.objects.filter(jurisdiction__in=places).select_related("applicator")
    return [certificate_facts(certificate) for certificate in held]
