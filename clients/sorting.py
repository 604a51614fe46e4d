"""The order of a list, as its address asks for it and the heads of its columns offer it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db.models import QuerySet

Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Head:
    """What the head of a column says: by what it sorts when it is pressed, and how it is sorted.

    standing: as aria-sort has it [WAI-ARIA 1.2]: ascending, descending or none
    """

    sort: str
    standing: str


class Order:
    """By which column a list is sorted, and in which direction.

    columns: the columns that may be asked for, by the names they have in an address; each is never
    empty in the database.  usual: what is asked for where nothing is, with a `-` to begin at the
    end.  What names no column is as good as nothing.
    """

    def __init__(self, asked: Mapping[str, str], columns: Mapping[str, str], *, usual: str) -> None:
        sort = asked.get("sort", "")
        if sort.removeprefix("-") not in columns:
            sort = usual
        self._columns = columns
        self.name, self.falling = sort.removeprefix("-"), sort.startswith("-")

    @property
    def column(self) -> str:
        """Return the column that orders the list."""
        return self._columns[self.name]

    def head(self, name: str) -> Head:
        """Return what the head of a column says; a name without a column is a fault of the page."""
        if name not in self._columns:
            raise KeyError(name)
        if name != self.name:
            return Head(name, "none")
        return Head(name, "descending") if self.falling else Head(f"-{name}", "ascending")

    def sorted(self, rows: QuerySet[Any], second: str = "pk") -> QuerySet[Any]:
        """Return rows in this order, those that are alike by a second column."""
        sign = "-" if self.falling else ""
        return rows.order_by(f"{sign}{self.column}", f"{sign}{second}")

    def listed(self, rows: Iterable[Row]) -> list[Row]:
        """Return the rows of a short list in this order; each column is an attribute of theirs.

        Texts are held against each other without regard to case; what is empty stands last.
        """
        told = [(getattr(row, self.column), row) for row in rows]
        full = [each for each in told if each[0] not in ("", None)]
        full.sort(key=lambda each: _plain(each[0]), reverse=self.falling)
        return [row for _, row in full] + [row for value, row in told if value in ("", None)]


def _plain(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value
