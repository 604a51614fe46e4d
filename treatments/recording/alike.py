"""Records that are alike in all that decides what is asked of them: a few dozen kinds a year.

What a record lacks and which copies are due hangs on its place, its rules, its product, and on
which of its fields are blank, so one of a kind tells of them all.  Of who sees the whole book the
kinds are looked up one after the other in the index that holds them, and their records by it; of
who sees a part of it the records of that part are read, which lie together by their plantings.
"""

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from heapq import merge
from typing import Any

from django.db import connection
from django.db.models import Count, Max, Min, Q, QuerySet
from django.db.models.expressions import RawSQL

from treatments.models import ApplicationRecord
from treatments.models.kinds import KIND
from treatments.models.records import ApplicationRecordQuerySet

Place = tuple[str, bool]  # a jurisdiction, and whether the product is for restricted use
AT_ONCE = 100  # records that are read at once; our own choice


@dataclass(frozen=True, slots=True)
class Alike:
    """Some records of a kind: one of them, and when the first and the last were done."""

    kind: str
    example: ApplicationRecord
    first_done: datetime
    last_done: datetime

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

    def is_flagged(self, code: str) -> bool:
        """Say whether these bear a flag; the kind tells of the one for lateness alone."""
        return f'"{code}"' in json.dumps(self.example.flags)

    def _addresses(self) -> set[str]:
        record = self.example
        if not (record.site_address and record.customer_address):
            return {record.site_address}
        return {record.site_address, record.customer_address}


class PartSeen:
    """The records since a moment of which somebody sees a part; they stand, and each is of a kind.

    records: those that stand and that may be seen
    """

    def __init__(self, records: ApplicationRecordQuerySet, since: datetime) -> None:
        self.records = records.alias(kind=KIND).filter(done_at__gte=since).order_by()
        self.since = since

    def kinds(self) -> list[Alike]:
        """Return the kinds of the records."""
        found = (
            self.records.annotate(kind=KIND)
            .values_list("kind")
            .annotate(Min("pk"), Min("done_at"), Max("done_at"))
        )
        rows = list(found)
        examples = ApplicationRecord.objects.in_bulk([row[1] for row in rows])
        return [Alike(kind, examples[one], first, last) for kind, one, first, last in rows]

    def numbers(self) -> Counter[Place]:
        """Return how many records there are of each place and use."""
        return _counted(self.records)

    def number_of(self, kinds: list[Alike], picked: Q) -> int:
        """Return how many records there are of some kinds."""
        return self.records.filter(picked, kind__in=[each.kind for each in kinds]).count()

    def rows(
        self, kinds: Iterable[Alike], picked: Q, *, newest_first: bool = False
    ) -> Iterator[ApplicationRecord]:
        """Yield records of some kinds, the oldest first or the newest."""
        rows = self._shown(picked).filter(kind__in=[each.kind for each in kinds])
        ordered = rows.order_by("-done_at" if newest_first else "done_at", "number")
        yield from ordered.iterator(chunk_size=AT_ONCE)

    def _shown(self, picked: Q) -> ApplicationRecordQuerySet:
        return self.records.filter(picked).select_related(
            "planting__property", "amends", "copy_given__given_by"
        )


class AllSeen(PartSeen):
    """The records since a moment, for who sees the whole book."""

    def kinds(self) -> list[Alike]:
        """Return the kinds of the records, each found by the one before it."""
        own = self.records.filter(kind=RawSQL("found.kind", ()))
        first, first_values = _told(own.order_by("done_at").values("pk")[:1])
        last, last_values = _told(own.order_by("-done_at").values("pk")[:1])
        known = ApplicationRecord.objects.annotate(kind=KIND).order_by("kind").values_list("kind")
        lowest, _none = _told(known[:1])
        next_one, _none = _told(known.filter(kind__gt=RawSQL("found.kind", ()))[:1])
        with connection.cursor() as cursor:
            cursor.execute(
                f"WITH RECURSIVE found(kind) AS (SELECT ({lowest}) UNION ALL "  # noqa: S608
                f"SELECT ({next_one}) FROM found WHERE found.kind IS NOT NULL) "
                f"SELECT kind, ({first}), ({last}) FROM found WHERE kind IS NOT NULL",
                [*first_values, *last_values],
            )
            rows = [row for row in cursor.fetchall() if row[1] is not None]
        ends = ApplicationRecord.objects.in_bulk({pk for row in rows for pk in row[1:]})
        return [
            Alike(kind, ends[first], ends[first].done_at, ends[last].done_at)
            for kind, first, last in rows
        ]

    def numbers(self) -> Counter[Place]:
        """Return how many there are of each place and use: all, without those that do not stand.

        Nothing of a year can have been disposed of.
        """
        kept = ApplicationRecord.objects.filter(done_at__gte=self.since)
        amending = ApplicationRecord.objects.filter(
            amends__isnull=False, amends__void=False, amends__done_at__gte=self.since
        )
        return (
            _counted(kept)
            - _counted(kept.filter(void=True))
            - _counted(amending, "amends__jurisdiction", "amends__restricted_use")
        )

    def rows(
        self, kinds: Iterable[Alike], picked: Q, *, newest_first: bool = False
    ) -> Iterator[ApplicationRecord]:
        """Yield records of some kinds, the oldest first or the newest: each kind by itself."""
        rows = self._shown(picked)
        own = [_in_order(rows.filter(kind=each.kind), newest_first) for each in kinds]
        return merge(*own, key=_newest if newest_first else _oldest)


def _told(query: QuerySet[Any]) -> tuple[str, tuple[Any, ...]]:
    return query.query.sql_with_params()


def _counted(
    records: ApplicationRecordQuerySet,
    place: str = "jurisdiction",
    use: str = "restricted_use",
) -> Counter[Place]:
    """Return how many records there are of each place and use."""
    found = records.order_by().values_list(place, use).annotate(number=Count("*"))
    return Counter({(each, restricted): number for each, restricted, number in found})


def _oldest(record: ApplicationRecord) -> tuple[float, int]:
    return record.done_at.timestamp(), record.number


def _newest(record: ApplicationRecord) -> tuple[float, int]:
    return -record.done_at.timestamp(), record.number


def _in_order(rows: ApplicationRecordQuerySet, newest_first: bool) -> Iterator[ApplicationRecord]:
    """Yield records of one kind in order, some at once, each stretch from where the last ended."""
    ordered = rows.order_by("-done_at" if newest_first else "done_at", "number")
    here, way = ordered, "lt" if newest_first else "gt"
    while some := list(here[:AT_ONCE]):
        yield from some
        if len(some) < AT_ONCE:
            return
        last = some[-1]
        # The first condition follows from the second; by it a database finds where to begin.
        here = ordered.filter(**{f"done_at__{way}e": last.done_at}).filter(
            Q(**{f"done_at__{way}": last.done_at}) | Q(number__gt=last.number)
        )
