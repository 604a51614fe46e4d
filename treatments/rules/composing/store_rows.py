"""What the store asks: no more than lots that are good on the day hold, or what is bought.

A lot is good through the day on which it expires, so lots serve the days up to theirs.  Whatever is
used after a day must come from the lots that outlast it; where this holds for every day on which a
lot expires, taking first what expires first serves every visit [HALL-1935].
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from treatments.rules.composing.families import Family
from treatments.rules.composing.label_rows import weighed
from treatments.rules.composing.rows import Grid, Row
from treatments.rules.composing.seasons import Offer
from treatments.rules.facts import LotFacts

Cut = tuple[date, Decimal]  # a day, and what the lots hold that are good after it


@dataclass(frozen=True, slots=True)
class Shelf:
    """The offers of one product, by their place, with what the store holds of it."""

    offers: tuple[int, ...]
    first: Offer

    def cuts(self) -> list[Cut]:
        """Return, from the beginning and for each day a lot expires, what outlasts it.

        >>> from treatments.rules.facts import ProductFacts
        >>> lots = (LotFacts("Soap", "A", Decimal(3), date(2026, 5, 4)),)
        >>> soap = Offer("soap", ProductFacts("Soap", "", (), ()), Decimal(1), "", lots=lots)
        >>> [held for _day, held in Shelf((0,), soap).cuts()]
        [Decimal('3'), Decimal('0')]
        """
        lots = self.first.lots or ()
        expiries = {lot.expires_on for lot in lots if lot.expires_on is not None}
        return [(day, _outlasting(lots, day)) for day in sorted({date.min, *expiries})]

    @property
    def is_bounded(self) -> bool:
        """Whether the store is looked at for this product."""
        return self.first.lots is not None

    @property
    def can_be_bought(self) -> bool:
        """Whether more of it can be bought."""
        return self.first.buying_price is not None


def _outlasting(lots: Sequence[LotFacts], day: date) -> Decimal:
    good = [lot.balance for lot in lots if lot.expires_on is None or lot.expires_on > day]
    return sum(good, Decimal(0))


def shelves_of(offers: Sequence[Offer]) -> list[Shelf]:
    """Return the shelves of a season's products, those left out of the store included."""
    shelves: dict[str, Shelf] = {}
    for place, offer in enumerate(offers):
        shelf = shelves.setdefault(offer.product.name, Shelf((), offer))
        shelves[offer.product.name] = replace(shelf, offers=(*shelf.offers, place))
    return list(shelves.values())


def buying_columns(grid: Grid) -> dict[str, int]:
    """Return a column, after those of the weeks, for what is bought of each product."""
    start = len(grid.weeks) * grid.width
    names = [
        shelf.first.product.name
        for shelf in shelves_of(grid.season.offers)
        if shelf.is_bounded and shelf.can_be_bought and _may_run_short(grid, shelf)
    ]
    return {name: start + place for place, name in enumerate(names)}


def _amounts(grid: Grid, shelf: Shelf) -> dict[int, Decimal]:
    return {place: grid.season.offers[place].amount or Decimal(0) for place in shelf.offers}


def _may_run_short(grid: Grid, shelf: Shelf) -> bool:
    most = max(_amounts(grid, shelf).values())
    return any(most * sum(each > day for each in grid.days) > held for day, held in shelf.cuts())


def store_rows(grid: Grid, bought: Mapping[str, int]) -> Iterator[Row]:
    """Yield: what is used after a day comes from lots that outlast it, or is bought."""
    for shelf in shelves_of(grid.season.offers):
        if not shelf.is_bounded:
            continue
        amounts = _amounts(grid, shelf)
        for day, held in shelf.cuts():
            places = [place for place, each in enumerate(grid.days) if each > day]
            if max(amounts.values()) * len(places) > held:
                row = weighed(Family.STOCK, grid, places, amounts, held)
                yield _or_bought(row, bought.get(shelf.first.product.name), held, amounts)


def _or_bought(row: Row, column: int | None, held: Decimal, amounts: Mapping[int, Decimal]) -> Row:
    if column is None:
        return row
    weight = -float(1 / (held or max(amounts.values())))
    weights = [*(row.weights or ()), weight]
    return replace(row, family=None, columns=[*row.columns, column], weights=weights)


def to_buy(shelf: Shelf, used: Sequence[tuple[date, Decimal]]) -> Decimal:
    """Return the least that must be bought for what is used on each day.

    >>> from treatments.rules.facts import ProductFacts
    >>> soap = Offer("soap", ProductFacts("Soap", "", (), ()), Decimal(1), "", lots=())
    >>> to_buy(Shelf((0,), soap), [(date(2026, 5, 4), Decimal(3))])
    Decimal('3')
    """
    if not shelf.is_bounded:
        return Decimal(0)
    short = [
        sum((amount for day, amount in used if day > cut), Decimal(0)) - held
        for cut, held in shelf.cuts()
    ]
    return max(Decimal(0), *short)
