"""What is asked of the records of a year, looked for among the kinds of records that there are.

Few records are looked at one by one: those of kinds of which something may be asked.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice

from django.db.models import DateTimeField, Exists, ExpressionWrapper, F, OuterRef, Q

from treatments.models import ApplicationRecord, CopyGiven
from treatments.models.kinds import WRITTEN_LATE
from treatments.recording import clocks_of, what_is_missing
from treatments.recording.alike import Alike, PartSeen, Place
from treatments.recording.clocks import Clocks, done_there, rules_of
from treatments.rulebook import Confirmed
from treatments.rules.records import NeededField, Retention, knows_of_copies, ruleset_of
from treatments.views.record_facts import CopyStanding, copies_of, copy_standing_of, moment

SHOWN = 100  # of each kind of duty; our own choice
A_DAY = timedelta(days=1)
ALL = Q()
IS_COPIED = Exists(CopyGiven.objects.filter(record=OuterRef("pk")))


@dataclass(frozen=True, slots=True)
class Row:
    """A record with what is still asked of it."""

    record: ApplicationRecord
    clocks: Clocks
    missing: list[NeededField]
    copy: CopyStanding
    is_late: bool
    is_due_today: bool = False

    def due(self) -> str:
        """Return by when it was to be written, by the clock of its place."""
        return moment(self.record, self.clocks.due.due_at)

    def received(self) -> str:
        """Return when this server took it, by the clock of its place."""
        return moment(self.record, self.record.received_at)


@dataclass(slots=True)
class Keeping:
    """How long the records of one place are kept by one rule."""

    place: str
    restricted_use: bool
    rule: Retention
    number: int = 0
    first_ends: date | None = None
    last_ends: date | None = None
    knows_copies: bool = False

    def add(self, kept_until: list[date]) -> None:
        """Take in the days until which the first and the last of some records are kept."""
        ends = [each for each in (self.first_ends, self.last_ends, *kept_until) if each]
        self.first_ends, self.last_ends = min(ends), max(ends)


class Year:
    """What is asked of the records of a year, by the kinds that there are among them."""

    def __init__(self, seen: PartSeen, confirmed: Confirmed, now: datetime) -> None:
        self.confirmed, self.now = confirmed, now
        self._seen = seen
        self._kinds = seen.kinds()

    def unwritten(self) -> list[Row]:
        """Return records that lack something, the oldest first, as many as are shown."""
        lacking = [each for each in self._kinds if self._may_lack(each)]
        rows = self._rows(lacking)
        return list(islice((row for row in rows if row.missing), SHOWN))

    def late(self) -> list[Row]:
        """Return complete records that came late, the newest first, as many as are shown."""
        flagged = [each for each in self._kinds if each.is_flagged(WRITTEN_LATE)]
        rows = self._rows(flagged, newest_first=True)
        return list(islice((row for row in rows if row.is_late and not row.missing), SHOWN))

    def copies_to_give(self) -> list[Row]:
        """Return records whose copy is to be given, the oldest first, as many as are shown."""
        rows = self._rows(self._asked(), Q(~IS_COPIED))
        return list(islice((row for row in rows if row.copy.is_open()), SHOWN))

    def copies_late(self) -> list[Row]:
        """Return all records whose copy was given late, the newest first."""
        by_days: dict[timedelta, list[Alike]] = defaultdict(list)
        for kind in self._asked():
            if (days := self._days_for_copy(kind)) is not None:
                by_days[days].append(kind)
        found = [
            row
            for days, kinds in by_days.items()
            for row in self._rows(kinds, self._copied_after(days))
            if row.copy.is_late()
        ]
        return sorted(found, key=lambda row: (-row.record.done_at.timestamp(), row.record.number))

    def _copied_after(self, days: timedelta) -> Q:
        # A day of a place may be another one by the clock of the database.
        by_then = ExpressionWrapper(F("done_at") + days - A_DAY, DateTimeField())
        return Q(copy_given__given_on__gte=by_then)

    def copies_given(self) -> int:
        """Return how many copies were given of those that are asked for."""
        return self._seen.number_of(self._asked(), Q(IS_COPIED))

    def keepings(self) -> list[Keeping]:
        """Return how long records are kept, a line a place and kind of product."""
        found: dict[Place, Keeping] = {}
        for kind in sorted(self._kinds, key=lambda each: each.last_done, reverse=True):
            newest = kind.done(kind.last_done)
            place = (newest.jurisdiction, newest.restricted_use)
            kept = [self._kept(kind.done(at)) for at in (kind.first_done, kind.last_done)]
            keeping = found.setdefault(place, first_of(newest, kept[-1]))
            keeping.add([each.keep_until for each in kept])
        for place, number in self._seen.numbers().items():
            if place in found:
                found[place].number = number
        return [found[place] for place in sorted(found)]

    def _kept(self, record: ApplicationRecord) -> Retention:
        return clocks_of(record, self.confirmed).kept

    def _may_lack(self, kind: Alike) -> bool:
        return any(what_is_missing(each, self.confirmed) for each in kind.examples())

    def _asked(self) -> list[Alike]:
        """Return the kinds whose client is to be given a copy."""
        return [
            each
            for each in self._kinds
            if any(copies_of(example, self.confirmed) for example in each.examples())
        ]

    def _days_for_copy(self, kind: Alike) -> timedelta | None:
        """Return in how many days after the application the copy is due at the soonest."""
        waits = [
            duty.due_on - done_there(example).date()
            for example in kind.examples()
            for duty in copies_of(example, self.confirmed)
            if duty.due_on
        ]
        return min(waits, default=None)

    def _rows(
        self, kinds: list[Alike], picked: Q = ALL, *, newest_first: bool = False
    ) -> Iterator[Row]:
        """Yield records of some kinds with what is still asked of each."""
        for record in self._seen.rows(kinds, picked, newest_first=newest_first):
            yield row_of(record, self.now, self.confirmed)


def due_first(row: Row) -> datetime:
    """Return what sorts the records that are due: the one that is due first stands first."""
    return row.clocks.due.due_at


def row_of(record: ApplicationRecord, now: datetime, confirmed: Confirmed) -> Row:
    """Return a record with what is still asked of it at a moment."""
    clocks, missing = clocks_of(record, confirmed), what_is_missing(record, confirmed)
    late, due = is_late(record, clocks, missing, now), clocks.due.due_at
    today = now.astimezone(due.tzinfo).date()
    return Row(
        record,
        clocks,
        missing,
        copy_standing_of(record, confirmed, now),
        is_late=late,
        is_due_today=not late and due.date() == today,
    )


def is_late(
    record: ApplicationRecord, clocks: Clocks, missing: list[NeededField], now: datetime
) -> bool:
    """Say whether a record was received late, or is incomplete and its time is over.

    What counts is the completion as it was stated and the receipt at this server.
    """
    due = clocks.due.due_at
    received_late = record.amends_id is None and record.received_at > due
    return received_late or (bool(missing) and now > due)


def first_of(record: ApplicationRecord, kept: Retention) -> Keeping:
    """Return an empty line for the place and kind of a record."""
    ruleset = ruleset_of(record.jurisdiction)
    return Keeping(
        place=ruleset.name if ruleset else record.jurisdiction,
        restricted_use=record.restricted_use,
        rule=kept,
        knows_copies=knows_of_copies(
            record.jurisdiction, done_there(record).date(), rules_of(record)
        ),
    )
