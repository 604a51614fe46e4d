"""A stretch of a long register, found by where it begins: nothing before it is counted."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Q, QuerySet

ROWS = 50
LONGEST_KEY = 18  # digits: longer ones are no key of any row


class Stretch:
    """Up to fifty rows of a register, and the keys by which its neighbours are asked for.

    rows: what may be seen; by: two columns that order them, such as a moment and a number, the
    second one unique; falling: from the highest down

    `after` and `before` are what was asked for: the second column of the row that the stretch
    follows, or that follows it.  What names no row is as good as nothing.
    """

    def __init__(
        self,
        rows: QuerySet[Any],
        asked: Mapping[str, str],
        *,
        by: tuple[str, str],
        falling: bool = False,
    ) -> None:
        self._rows, self._by, self._falling = rows, by, falling
        back = self._beyond(asked.get("before", ""), back=True)
        here = back if back is not None else self._beyond(asked.get("after", ""), back=False)
        is_back = back is not None
        found: list[Any] = list(self._ordered(rows if here is None else here, is_back)[: ROWS + 1])
        more = len(found) > ROWS
        del found[ROWS:]
        self.object_list: Sequence[Any] = found[::-1] if is_back else found
        self.has_before = more if is_back else here is not None
        self.has_after = is_back or more

    def __iter__(self):
        return iter(self.object_list)

    def __len__(self) -> int:
        return len(self.object_list)

    def first_key(self) -> Any:
        """Return by what the rows before this stretch are asked for; None where it is empty."""
        return getattr(self.object_list[0], self._by[1]) if self.object_list else None

    def last_key(self) -> Any:
        """Return by what the rows after this stretch are asked for; None where it is empty."""
        return getattr(self.object_list[-1], self._by[1]) if self.object_list else None

    def _ordered(self, rows: QuerySet[Any], back: bool) -> QuerySet[Any]:
        sign = "-" if self._falling is not back else ""
        return rows.order_by(*(f"{sign}{column}" for column in self._by))

    def _beyond(self, key: str, *, back: bool) -> QuerySet[Any] | None:
        """Return the rows beyond the one with a key, None where there is no such row."""
        first, second = self._by
        if not (key.isdecimal() and len(key) <= LONGEST_KEY):
            return None
        place = self._rows.filter(**{second: key}).order_by().values_list(first, second)
        edge = place.first()
        if edge is None:
            return None
        way = "lt" if self._falling is not back else "gt"
        # The first condition follows from the second; by it a database finds where to begin.
        return self._rows.filter(**{f"{first}__{way}e": edge[0]}).filter(
            Q(**{f"{first}__{way}": edge[0]}) | Q(**{f"{second}__{way}": edge[1]})
        )


def values_of(rows: QuerySet[Any], column: str) -> list[Any]:
    """Return the few different values of a column, by one query for each: an index finds them."""
    found: list[Any] = []
    rest = rows.order_by(column)
    while (value := rest.values_list(column, flat=True).first()) is not None:
        found.append(value)
        rest = rows.filter(**{f"{column}__gt": value}).order_by(column)
    return found
