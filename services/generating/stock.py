"""Makes up the lots of a batch: what came, what was applied of it, and what was counted out."""

from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal

from django.contrib.auth.models import User

from services.demonstration.reading import moment
from treatments.chain import Draft
from treatments.journaling import stock_draft
from treatments.models import ApplicationRecord, Lot, Product, StockEntry

CONTAINER = Decimal(128)  # fluid ounces or ounces in which a product comes
LASTS = 730  # days
BEFORE = 14  # days between the delivery and the first spray
Kind = StockEntry.Kind


def make_lots(
    wanted: Counter[int], products: dict[int, Product], batch: int, day: date
) -> dict[int, Lot]:
    """Put a lot of each product in the store, before the first day of a batch."""
    received_on = day - timedelta(days=BEFORE)
    lots = Lot.objects.bulk_create(
        Lot(
            product=products[key],
            lot_number=f"INVENTED-{batch + 1:05}",
            received_on=received_on,
            expires_on=received_on + timedelta(days=LASTS),
            unit_cost=products[key].price,
        )
        for key in sorted(wanted)
    )
    return {lot.product_id: lot for lot in lots}


def enter_received(wanted: dict[int, Decimal], lots: dict[int, Lot], by: User) -> list[Draft]:
    """Enter whole containers, a tenth more than is applied; return the entries for the journal.

    wanted: the amount that is applied of each product, in the unit that it is kept in
    """
    lines = [
        _line(lot, Kind.RECEIVED, _containers(wanted[key]), lot.received_on, by)
        for key, lot in lots.items()
    ]
    return [stock_draft(line) for line in StockEntry.objects.bulk_create(lines)]


def enter_applied(records: Iterable[ApplicationRecord]) -> None:
    """Enter what each record took; a void one gives it back, an amended one took the same."""
    StockEntry.objects.bulk_create(
        StockEntry(
            lot=record.lot,
            kind=Kind.APPLIED,
            amount=record.product_amount if record.void else -record.product_amount,
            happened_at=record.done_at,
            entered_at=record.received_at,
            entered_by=record.recorded_by,
            record=record,
        )
        for record in records
        if record.void or not record.amends_id
    )


def count_out(lots: dict[int, Lot], day: date, by: User) -> list[Draft]:
    """Enter that nothing is left of some lots; return the entries for the journal."""
    held = Lot.objects.filter(pk__in=[lot.pk for lot in lots.values()]).with_balance()
    lines = [
        _line(lot, Kind.COUNTED, -lot.balance, day, by)
        for lot in held.select_related("product").order_by("pk")
        if lot.balance
    ]
    return [stock_draft(line) for line in StockEntry.objects.bulk_create(lines)]


def _line(lot: Lot, kind: str, amount: Decimal, day: date, by: User) -> StockEntry:
    at = moment(day, 16)
    return StockEntry(
        lot=lot,
        kind=kind,
        amount=amount,
        happened_at=at,
        entered_at=at,
        entered_by=by,
        note="Invented.",
    )


def _containers(amount: Decimal) -> Decimal:
    wanted = amount * Decimal("1.1") / CONTAINER
    return wanted.to_integral_value(ROUND_CEILING) * CONTAINER
