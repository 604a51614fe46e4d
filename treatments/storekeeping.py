"""The store's ledger: what arrives, is counted, moved, drawn, brought back and disposed of.

A lot lies on the shelf of the store and in the lockers of trucks.  What a record draws is drawn
from the shelf; what the truck of its crew carried of the lot is moved back first.

What the office plans is refused when the lot does not hold it; what a crew applied is a fact and
is kept, even below zero: then the lot wants counting.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import wraps
from typing import Any, Concatenate, ParamSpec
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q, Sum
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.journaling import journal_stock
from treatments.models import ApplicationRecord, Locker, Lot, Product, StockEntry

Kind = StockEntry.Kind
THOUSANDTH = Decimal("0.001")
Told = ParamSpec("Told")
OnLot = Callable[Concatenate[Lot, Told], StockEntry]


def once_a_form(action: OnLot[Told]) -> OnLot[Told]:
    """Have a lot's line written once for a form, however often the form is sent."""

    @wraps(action)
    @transaction.atomic
    def done_once(lot: Lot, *args: Told.args, **told: Told.kwargs) -> StockEntry:
        return line_of_form(lot, told.get("form_id")) or action(lot, *args, **told)

    return done_once


def line_of_form(lot: Lot, form_id: Any) -> StockEntry | None:
    """Return the line that a form has written already; nobody else writes one to the end."""
    return locked(lot).entries.filter(form_id=form_id).first() if form_id else None


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
    form_id: UUID | None = None,
) -> Lot:
    """Put what arrived into the ledger; more of a lot that is known is added to it.

    amount: in the unit the product is kept in
    form_id: made with the form; the same one is put in once
    """
    Product.objects.select_for_update().get(pk=product.pk)
    known = form_id and StockEntry.objects.filter(lot__product=product, form_id=form_id).first()
    if known:
        return known.lot
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
    enter(lot, Kind.RECEIVED, amount, by=by, at=at, form_id=form_id)
    return lot


@once_a_form
def count_lot(
    lot: Lot,
    *,
    counted: Decimal,
    by: Any,
    at: datetime | None = None,
    note: str = "",
    locker: Locker | None = None,
    form_id: UUID | None = None,
) -> StockEntry:
    """Set a lot to what was counted where it lies, by a line that holds the difference."""
    if counted < 0:
        raise ValidationError(_("A count is zero or more."), code="negative")
    difference = counted - locked(lot).left_at(locker)
    told = {"note": note, "locker": locker, "form_id": form_id}
    return enter(lot, Kind.COUNTED, difference, by=by, at=at, **told)


@once_a_form
def move_stock(
    lot: Lot,
    *,
    amount: Decimal,
    by: Any,
    origin: Locker | None,
    destination: Locker | None,
    at: datetime | None = None,
    form_id: UUID | None = None,
    **others: Any,
) -> StockEntry:
    """Move some of a lot between the shelf and trucks, by two lines; return that of its arrival.

    origin, destination: a truck's locker, or None for the shelf
    """
    if origin == destination:
        raise ValidationError(_("Move it to another place than where it lies."), code="same_place")
    if amount <= 0:
        raise ValidationError(_("Say how much is moved."), code="nothing_moved")
    refuse_below_zero(lot, amount, origin)
    others |= {"by": by, "at": at or timezone.now()}
    enter(lot, Kind.MOVED, -amount, locker=origin, **others)
    return enter(lot, Kind.MOVED, amount, locker=destination, form_id=form_id, **others)


@once_a_form
def dispose(
    lot: Lot,
    *,
    amount: Decimal,
    by: Any,
    note: str,
    at: datetime | None = None,
    locker: Locker | None = None,
    form_id: UUID | None = None,
) -> StockEntry:
    """Take off the shelf or a truck what was disposed of, and say how in the note."""
    if not note.strip():
        raise ValidationError(_("Say how it was disposed of."), code="note_missing")
    refuse_below_zero(lot, amount, locker)
    told = {"note": note, "locker": locker, "form_id": form_id}
    return enter(lot, Kind.DISPOSED, -amount, by=by, at=at, **told)


@once_a_form
def return_to_store(
    lot: Lot,
    *,
    amount: Decimal,
    by: Any,
    at: datetime | None = None,
    note: str = "",
    form_id: UUID | None = None,
) -> StockEntry:
    """Put back into the store what came home unopened or unused."""
    return enter(lot, Kind.RETURNED, amount, by=by, at=at, note=note, form_id=form_id)


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


def cargo_of(locker: Locker) -> list[Lot]:
    """Return the lots that a truck carries, each with how much as its balance."""
    here = Lot.objects.filter(entries__locker=locker).select_related("product")
    return list(here.with_balance().exclude(balance=0).order_by("product__name", "pk"))


def locked(lot: Lot) -> Lot:
    """Return a lot that nobody else changes before the transaction ends.

    PostgreSQL locks the row; SQLite has locked the whole database when the transaction began.
    """
    return Lot.objects.select_for_update().get(pk=lot.pk)


def refuse_below_zero(lot: Lot, amount: Decimal, locker: Locker | None = None) -> None:
    """Raise ValidationError when the shelf, or a truck, holds less of a lot than is asked of it."""
    left = locked(lot).left_at(locker)
    if amount <= left:
        return
    sentence = _(
        "%(lot)s holds %(left)s %(unit)s, less than %(amount)s. Count it, or take another lot."
    )
    if locker is not None:
        sentence = _("%(truck)s carries %(left)s %(unit)s of %(lot)s, less than %(amount)s.")
    elif carried([lot]):
        sentence = _(
            "On the shelf lie %(left)s %(unit)s of %(lot)s, less than %(amount)s; the rest is on "
            "trucks."
        )
    raise ValidationError(
        sentence,
        params={
            "lot": str(lot),
            "left": left,
            "amount": amount,
            "unit": lot.product.stock_unit,
            "truck": str(locker),
        },
        code="not_in_store",
    )


def bring_back_what_is_used(
    lot: Lot, amount: Decimal, locker: Locker, *, by: Any, **others: Any
) -> None:
    """Move back to the shelf what a truck carried of a lot, as far as its crew has used it."""
    carried_there = locked(lot).left_at(locker)
    if used := min(amount, max(carried_there, Decimal(0))):
        move_stock(lot, amount=used, by=by, origin=locker, destination=None, **others)


def put_back_where_it_was_taken(
    lot: Lot, amount: Decimal, records: Iterable[ApplicationRecord], *, by: Any, **others: Any
) -> None:
    """Move to trucks what came from them for records, as far as it was not used after all.

    amount: so much is back on the shelf; what lacks there as well is left to a count
    """
    back = min(amount, max(locked(lot).left_at(None), Decimal(0)))
    moves = Q(stock_entries__lot=lot, stock_entries__moved_for__in=records)
    lockers = Locker.objects.filter(moves).annotate(taken=-Sum("stock_entries__amount"))
    for locker in lockers:
        if part := min(back, locker.taken.quantize(THOUSANDTH)):
            move_stock(lot, amount=part, by=by, origin=None, destination=locker, **others)
            back -= part


@dataclass(frozen=True, slots=True)
class Carried:
    """What a truck carries of a lot, moved there by hand."""

    locker: int
    truck: str
    amount: Decimal


def carried(lots: Iterable[Lot] | None = None) -> Mapping[int, list[Carried]]:
    """Return what trucks carry of lots, or of all, by the lot's id, in one query."""
    lines = StockEntry.objects.filter(locker__isnull=False)
    if lots is not None:
        lines = lines.filter(lot__in=list(lots))
    found: dict[int, list[Carried]] = defaultdict(list)
    sums = lines.values_list("lot", "locker", "locker__name").annotate(carried=Sum("amount"))
    for lot, locker, truck, amount in sums.order_by("locker__name", "locker"):
        # SQLite adds decimals as floats.
        if amount := amount.quantize(THOUSANDTH):
            found[lot].append(Carried(locker, truck, amount))
    return found


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
