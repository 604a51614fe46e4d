"""What is to be bought for the visits to come: known only above, so it is told from above."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from treatments.models import Product
from treatments.rules.shopping import ToBuy


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """A product to buy, with how much and by when."""

    product: Product
    to_buy: ToBuy


def nothing_to_buy(today: date) -> Iterable[ToBuy]:
    """Return nothing: what is to be bought until the schedule is there."""
    return ()


class Shopping:
    """What the visits of the next weeks lack; `services` replaces `wanted_from`."""

    wanted_from: Callable[[date], Iterable[ToBuy]] = staticmethod(nothing_to_buy)


def shopping_list(today: date, until: date | None = None) -> list[ShoppingLine]:
    """Return what is to be bought for the next weeks, what is needed first at the head.

    until: only what is to be there by this day
    """
    return shopping_lines(Shopping.wanted_from(today), until)


def shopping_lines(found: Iterable[ToBuy], until: date | None = None) -> list[ShoppingLine]:
    """Return lines with the products that they name, only those to buy by a day if one is given."""
    wanted = [line for line in found if until is None or line.buy_by <= until]
    products = {
        product.name: product
        for product in Product.objects.filter(name__in={line.product for line in wanted})
    }
    return [
        ShoppingLine(products[line.product], line) for line in wanted if line.product in products
    ]
