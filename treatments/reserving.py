"""How much of each lot is promised to visits: known only above, so it is told from above."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal

from treatments.models import Lot


def nothing_reserved(lots: Iterable[Lot]) -> Mapping[int, Decimal]:
    """Return no amounts: what is reserved until the schedule is there."""
    return {}


class Reserved:
    """The amounts of lots that are loaded or planned; `services` replaces `amounts_of`."""

    amounts_of: Callable[[Iterable[Lot]], Mapping[int, Decimal]] = staticmethod(nothing_reserved)


def reserved_amounts(lots: Iterable[Lot]) -> Mapping[int, Decimal]:
    """Return what is promised of each lot, by its id, in the unit of the store."""
    return Reserved.amounts_of(lots)
