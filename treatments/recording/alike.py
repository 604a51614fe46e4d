"""Records that are alike in all that decides what is asked of them, counted by the database.

What a record lacks and which copies are due hangs on its place, its rules, its product, and on
which of its fields are blank: of a year's records a few dozen kinds are left, and one of each tells
of them all.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from typing import Any

from django.db.models import (
    BigIntegerField,
    Case,
    CharField,
    Count,
    ExpressionWrapper,
    F,
    Max,
    Min,
    Q,
    TextField,
    Value,
    When,
)

from treatments.models import ApplicationRecord
from treatments.models.records import ApplicationRecordQuerySet
from treatments.recording.fields import COLUMNS

SHARED = [
    "jurisdiction",
    "time_zone",
    "rules_checked_by",
    "restricted_use",
    "production_site",
    "rate_basis",
    "blank",
    "treated_at_home",
]


@dataclass(frozen=True, slots=True)
class Alike:
    """Some records of a kind: one of them, how many there are, and when the first and last were.

    shared: the values of SHARED
    """

    example: ApplicationRecord
    number: int
    first_done: datetime
    last_done: datetime
    shared: dict[str, Any]
    is_copied: bool

    def examples(self) -> Iterator[ApplicationRecord]:
        """Yield records, none of them kept, as which each of these is judged.

        The first and the last tell what rules say that changed between them; whether addresses that
        differ as texts are the same place is left open.
        """
        for done_at in {self.first_done, self.last_done}:
            for address in self._addresses():
                one = self.done(done_at)
                one.site_address = address
                yield one

    def done(self, at: datetime) -> ApplicationRecord:
        """Return a record of this kind, not kept, that was done at another time."""
        one = copy(self.example)
        one.done_at = at
        return one

    def _addresses(self) -> set[str]:
        record = self.example
        if not (record.site_address and record.customer_address):
            return {record.site_address}
        return {record.site_address, record.customer_address}


def alike(records: ApplicationRecordQuerySet) -> list[Alike]:
    """Return the kinds of some records that were told by `with_kind`; each record is of one."""
    kinds = (
        records.order_by()
        .annotate(is_copied=Q(copy_given__isnull=False))
        .values(*SHARED, "is_copied")
        .annotate(one=Min("pk"), number=Count("pk"), first=Min("done_at"), last=Max("done_at"))
    )
    rows = list(kinds)
    examples = ApplicationRecord.objects.in_bulk([row["one"] for row in rows])
    return [
        Alike(
            example=examples[row["one"]],
            number=row["number"],
            first_done=row["first"],
            last_done=row["last"],
            shared={name: row[name] for name in SHARED},
            is_copied=row["is_copied"],
        )
        for row in rows
    ]


def with_kind(records: ApplicationRecordQuerySet) -> ApplicationRecordQuerySet:
    """Tell of each record which fields of the rules are blank, as a sum of a power of two each."""
    powers = [
        Case(When(_is_blank(columns), then=Value(1 << place)), default=Value(0))
        for place, columns in enumerate(COLUMNS.values())
    ]
    at_home = Case(When(site_address=F("customer_address"), then=Value(1)), default=Value(0))
    return records.annotate(
        blank=ExpressionWrapper(_sum(powers), BigIntegerField()), treated_at_home=at_home
    )


def _sum(terms: Sequence[Any]) -> Any:
    """Return a sum, in halves: SQLite nests a hundred brackets at the most."""
    half = len(terms) // 2
    return _sum(terms[:half]) + _sum(terms[half:]) if half else terms[0]


def of_kinds(kinds: Iterable[Alike], names: Sequence[str]) -> Q:
    """Return what picks the records that share some values with one of some kinds.

    names: of SHARED, what they share; of the last one there may be many values
    """
    *few, last = names
    wanted: dict[tuple[Any, ...], set[Any]] = defaultdict(set)
    for each in kinds:
        wanted[tuple(each.shared[name] for name in few)].add(each.shared[last])
    picked = (
        Q(**dict(zip(few, told, strict=True)), **{f"{last}__in": sorted(values)})
        for told, values in wanted.items()
    )
    return reduce(Q.__or__, picked, Q(pk__in=[]))


def _is_blank(columns: Iterable[str]) -> Q:
    """Return that no column of a field says anything."""
    return reduce(Q.__and__, map(_says_nothing, columns))


def _says_nothing(name: str) -> Q:
    """Return that a column is no answer; texts of nothing but spaces do not come in."""
    if isinstance(ApplicationRecord._meta.get_field(name), (CharField, TextField)):
        return Q(**{f"{name}__in": ["", "None"]})
    return Q(**{f"{name}__isnull": True})
