"""The store's ledger: what arrives, is counted, drawn, brought back and disposed of.

What the office plans is refused when the lot does not hold it; what a crew applied is a fact and
is kept, even below zero: then the lot wants counting.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.journaling import journal_stock
from treatments.models import ApplicationRecord, Lot, Product, StockEntry

Kind = StockEntry.Kind


@transaction.atomic
def receive_lot(
    *,
    product: Product,
    amount: Decimal,
    received_on: date,
    by: Any,
    lot_number: str = "",
    not_marked_reason: str = "",
    expires_on: date | None = None,
    unit_cost: Decimal | None = None,
    at: datetime | None = None,
) -> Lot:
    """Put what arrived into the ledger; more of a lot that is known is added to it.

    amount: in the unit the product is kept in
    """
    lot = Lot.objects.filter(product=product, lot_number=lot_number).exclude(lot_number="").first()
    if lot is None:
        lot = Lot(
            product=product,
            lot_number=lot_number,
            not_marked_reason=not_marked_reason,
            received_on=received_on,
            expires_on=expires_on,
            unit_cost=unit_cost,
        )
        lot.full_clean()
        lot.save()
    enter(lot, Kind.RECEIVED, amount, by=by, at=at)
    return lot


@transaction.atomic
def count_lot(
    lot: Lot, *, counted: Decimal, by: Any, at: datetime | None = None, note: str = ""
) -> StockEntry:
    """Set a lot to what was counted, by a line that holds the difference."""
    if counted < 0:
        raise ValidationError(_("A count is zero or more."), code="negative")
    difference = counted - locked(lot).left()
    return enter(lot, Kind.COUNTED, difference, by=by, at=at, note=note)


@transaction.atomic
def dispose(
    lot: Lot, *, amount: Decimal, by: Any, note: str, at: datetime | None = None
) -> StockEntry:
    """Take out of the store what was disposed of, and say how in the note."""
    if not note.strip():
        raise ValidationError(_("Say how it was disposed of."), code="note_missing")
    refuse_below_zero(lot, amount)
    return enter(lot, Kind.DISPOSED, -amount, by=by, at=at, note=note)


@transaction.atomic
def return_to_store(
    lot: Lot, *, amount: Decimal, by: Any, at: datetime | None = None, note: str = ""
) -> StockEntry:
    """Put back into the store what came home unopened or unused."""
    return enter(lot, Kind.RETURNED, amount, by=by, at=at, note=note)


@transaction.atomic
def draw(
    lot: Lot,
    *,
    amount: Decimal,
    by: Any,
    record: ApplicationRecord | None = None,
    at: datetime | None = None,
    note: str = "",
) -> StockEntry:
    """Take product from a lot: without a record only what is there, with one what was applied."""
    if record is None:
        refuse_below_zero(lot, amount)
    return enter(lot, Kind.APPLIED, -amount, by=by, at=at, note=note, record=record)


@transaction.atomic
def enter(lot: Lot, kind: str, amount: Decimal, *, at: datetime | None, **others: Any):
    """Write one line of the ledger, and its entry in the journal where no record tells of it."""
    entry = StockEntry(
        lot=lot,
        kind=kind,
        amount=amount,
        happened_at=at or timezone.now(),
        entered_by=others.pop("by"),
        **others,
    )
    entry.full_clean()
    entry.save()
    if entry.record is None:
        journal_stock(entry)
    return entry


def locked(lot: Lot) -> Lot:
    """Return a lot that nobody else changes before the transaction ends.

    PostgreSQL locks the row; SQLite has locked the whole database when the transaction began.
    """
    return Lot.objects.select_for_update().get(pk=lot.pk)


def refuse_below_zero(lot: Lot, amount: Decimal) -> None:
    """Raise ValidationError when a lot holds less than is asked of it."""
    left = locked(lot).left()
    if amount <= left:
        return
    raise ValidationError(
        _("%(lot)s holds %(left)s %(unit)s, less than %(amount)s. Count it, or take another lot."),
        params={"lot": str(lot), "left": left, "amount": amount, "unit": lot.product.stock_unit},
        code="not_in_store",
    )


def first_expiry_first(product: Product, day: date) -> list[Lot]:
    """Return the lots of a product that hold something and are good on a day, first to be used."""
    good = Q(expires_on__isnull=True) | Q(expires_on__gte=day)
    lots = Lot.objects.filter(good, product=product).with_balance().filter(balance__gt=0)
    return list(lots.first_expiry_first())


def stock_of(products: Iterable[Product]) -> Mapping[int, list[Lot]]:
    """Return the lots of products with what is left of each, by the product's id, in one query."""
    lots = Lot.objects.filter(product__in=list(products)).with_balance().first_expiry_first()
    by_product: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots:
        by_product[lot.product_id].append(lot)
    return by_product
