"""What is to be written, what was written late, whose copies are due, how long all is kept.

What a rule set does not say is "not known" here, never "no duty".
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clients.access import CREW, EVERYONE, Role, allow, has_role
from treatments.certified import is_certified
from treatments.clocks import home_zone
from treatments.forms.handing import CopiesForm
from treatments.models import ApplicationRecord
from treatments.owing import owed_reports
from treatments.recording import clocks_of, what_is_missing
from treatments.recording.clocks import Clocks, done_there, rules_of
from treatments.rulebook import Confirmed, confirmed_facts
from treatments.rules.records import (
    NeededField,
    Retention,
    knows_of_copies,
    ruleset_of,
)
from treatments.signing_off import answered_for_by, unsigned
from treatments.views.record_facts import CopyStanding, copy_standing_of, moment

# Our own choice: what is older stands in the register, with the same clocks.
LOOKED_AT = timedelta(days=365)
SIGNED_AT_ONCE = 25


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

    def add(self, kept_until: date) -> None:
        """Count one record in, and the day until which it is kept."""
        self.number += 1
        self.first_ends = min(self.first_ends or kept_until, kept_until)
        self.last_ends = max(self.last_ends or kept_until, kept_until)


@require_safe
@allow(EVERYONE)
def records_due(request):
    """Show what is still asked of the records of the past year."""
    now = timezone.now()
    kept = ApplicationRecord.objects.for_user(request.user).current()
    confirmed = confirmed_facts()
    rows = [row_of(each, now, confirmed) for each in with_places(kept, now)]
    context = {
        "owed": owed_reports(request.user, now),
        "unwritten": sorted((row for row in rows if row.missing), key=due_first),
        "late": [row for row in rows if row.is_late and not row.missing],
        **copies_shown(rows, request.user, now),
        "keepings": keepings_of(rows),
        **waiting_for(request.user, kept),
        "may_dispose": has_role(request.user, frozenset({Role.OWNER})),
    }
    return render(request, "treatments/records_due.html", context)


def copies_shown(rows: list[Row], user, now: datetime) -> dict:
    """Return the copies that are to be given, those that came late, and how many came in time."""
    asked = [row for row in rows if row.copy.duties]
    to_give = [row for row in asked if row.copy.is_open()]
    return {
        "copies": sorted(to_give, key=lambda row: row.copy.due_on() or date.max),
        "copies_late": [row for row in asked if row.copy.given and row.copy.is_late()],
        "copies_in_time": sum(
            row.copy.given is not None and not row.copy.is_late() for row in asked
        ),
        "copies_form": CopiesForm(initial={"given_on": now.astimezone(home_zone()).date()})
        if to_give and has_role(user, CREW)
        else None,
    }


def waiting_for(user, kept) -> dict:
    """Return the records that a person has to sign, the oldest first, and how many follow them."""
    if not is_certified(user):
        return {}
    mine = unsigned(answered_for_by(user, kept)).order_by("done_at", "number")
    shown = list(mine.select_related("planting__property")[:SIGNED_AT_ONCE])
    return {"unsigned": shown, "unsigned_more": max(0, mine.count() - len(shown))}


def with_places(records, now: datetime):
    """Pick the records that are looked at, with what a row shows of them."""
    recent = records.filter(done_at__gte=now - LOOKED_AT)
    return recent.select_related("planting__property", "amends", "copy_given__given_by")


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


def keepings_of(rows: Iterable[Row]) -> list[Keeping]:
    """Return how long records are kept, a line a place and kind of product."""
    found: dict[tuple[str, bool], Keeping] = {}
    for row in rows:
        record, kept = row.record, row.clocks.kept
        place = (record.jurisdiction, record.restricted_use)
        keeping = found.setdefault(place, first_of(record, kept))
        keeping.add(kept.keep_until)
    return [found[place] for place in sorted(found)]


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
