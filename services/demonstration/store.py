"""Puts lots into the store on the days on which they came; counts and moves what was."""

from datetime import date
from decimal import Decimal
from typing import Any

from services.demonstration.reading import Days, moment, read
from services.models import Truck
from treatments.models import Lot, Product
from treatments.storekeeping import count_lot, move_stock, receive_lot

TORN_OFF = "The label was torn off on the way."


def keep_store(day: date, days: Days, by: Any) -> None:
    """Receive the lots that came on a day, count and move those that were on it."""
    for row in read("store")["lots"]:
        if days.from_today(row[2]) == day:
            _receive(row, days, by)
    for row in read("store")["counts"]:
        if days.from_today(row["day"]) == day:
            lot = Lot.objects.get(product__name=row["product"], lot_number=row["lot"])
            count_lot(
                lot, counted=Decimal(row["counted"]), by=by, at=moment(day, 17), note=row["note"]
            )

    for row in read("store")["moves"]:
        if days.from_today(row["day"]) == day:
            move_stock(
                Lot.objects.get(product__name=row["product"], lot_number=row["lot"]),
                amount=Decimal(row["amount"]),
                by=by,
                origin=None,
                destination=Truck.objects.get(name=row["truck"]).locker,
                at=moment(day, 7),
                note=row["note"],
            )


def first_arrival(days: Days) -> date:
    """Return the day on which the first lot came."""
    return min(days.from_today(row[2]) for row in read("store")["lots"])


def _receive(row: list[Any], days: Days, by: Any) -> None:
    product, number, received, expires, amount, cost = row
    day = days.from_today(received)
    receive_lot(
        product=Product.objects.get(name=product),
        lot_number=number,
        not_marked_reason="" if number else TORN_OFF,
        amount=Decimal(amount),
        received_on=day,
        expires_on=days.from_today(expires),
        unit_cost=Decimal(cost),
        by=by,
        at=moment(day, 9),
    )
