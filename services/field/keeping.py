"""Keeps what a phone said, kind by kind, by the actions that everybody uses.

Nothing is refused for being late, odd or in conflict: it is kept and flagged.  What belongs to no
visit of the crew, or cannot be a record yet, waits as a draft for the office.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError as RuleBroken

from services.completing import VisitReport, add_report, complete_visit, start_visit
from services.field.amending import amend_alone
from services.field.events import Event
from services.field.outcomes import Missing, Outcome, reply_to
from services.field.seeing import stop_seen
from services.field.telling import Telling, merged, report_of, visit_of, warning
from services.holding import hold_visit
from services.models import Device, FieldEvent, Visit
from services.rules.phone_clocks import SKEW
from treatments.models import ApplicationRecord
from treatments.recording import flag_of
from treatments.rules.findings import gettext_noop

UNKNOWN_VISIT = gettext_noop("The phone told of a visit that its crew was never sent.")
UNPLANNED = gettext_noop("An unplanned stop: %(where)s. Say which visit it was.")
STARTED_CANCELLED = gettext_noop("Begun after the visit had been cancelled.")
HELD_AFTER = gettext_noop("Put off for %(reason)s, but the visit was %(state)s already.")
CORRECTION = gettext_noop("The crew wants records %(numbers)s corrected: %(reason)s")
CORRECTS_UNKNOWN = gettext_noop("A correction of something that this phone never told.")

Kind = FieldEvent.Kind


def keep_event(event: Event, device: Device, now: datetime) -> Outcome:
    """Keep an event by its kind; raise NeedsInput where it cannot be a record yet."""
    visit = visit_of(event, device)
    seen = stop_seen(device, event, visit) if visit else None
    telling = Telling(event, device, visit, seen, now)
    if visit is None and event.kind not in (Kind.AMEND, Kind.NOTE, Kind.UNPLANNED):
        return _of_no_visit(telling)
    return KINDS[event.kind](telling)


def _of_no_visit(telling: Telling) -> Outcome:
    flag = flag_of(warning("unknown-visit", UNKNOWN_VISIT))
    return Outcome(flags=(*telling.flags(), flag))


def keep_start(telling: Telling) -> Outcome:
    """Note that the crew has begun."""
    visit, flags = _visit(telling), telling.flags()
    try:
        start_visit(visit, by=telling.device.person, at=telling.event.done_at)
    except RuleBroken as refusal:
        if refusal.code != "cancelled":
            raise
        flags.append(flag_of(warning("started-after-cancelling", STARTED_CANCELLED)))
    return Outcome(flags=tuple(flags))


def keep_complete(telling: Telling) -> Outcome:
    """Keep the records of a visit; what a second phone tells of it stands beside the first."""
    visit = _visit(telling)
    told = report_of(telling, telling.body(), visit)
    return Outcome(tuple(kept(visit, told, telling.now)), told.flags)


def kept(visit: Visit, told: VisitReport, now: datetime) -> list[ApplicationRecord]:
    """Keep a report as the first of its visit, or beside the one that was first."""
    visit.refresh_from_db(fields=["state"])
    try:
        return complete_visit(visit, now=now, **as_words(told))
    except RuleBroken as refusal:
        if getattr(refusal, "code", "") != "completed":
            raise
        return add_report(visit, told, now=now)


def as_words(told: VisitReport) -> dict[str, Any]:
    """Return a report as `complete_visit` is told of it."""
    return {name: getattr(told, name) for name in told.__dataclass_fields__}


def keep_hold(telling: Telling) -> Outcome:
    """Put a visit off; one that was made or cancelled meanwhile stays as it is, flagged."""
    visit, body, flags = _visit(telling), telling.body(), telling.flags()
    try:
        hold_visit(
            visit,
            reason=body["reason"],
            note=body.get("note", ""),
            by=telling.device.person,
            at=_when(telling),
            now=telling.now,
        )
    except RuleBroken as refusal:
        if getattr(refusal, "code", "") != "not_open":
            raise
        facts = {"reason": body["reason"], "state": visit.state}
        flags.append(flag_of(warning("held-after-the-end", HELD_AFTER, **facts)))
    return Outcome(flags=tuple(flags))


def _when(telling: Telling) -> datetime:
    """Return since when a hold stands: as stated, or since it came where the clock was wrong."""
    skew, done = telling.event.skew(), telling.event.done_at
    is_off = skew is None or abs(skew) > SKEW or done > telling.now
    return telling.now if is_off else done


def keep_unplanned(telling: Telling) -> Outcome:
    """Keep a stop that was in no packet as a draft, for the office to say which visit it was."""
    where = telling.body()["where"]
    return Outcome(
        flags=(*telling.flags(), flag_of(warning("unplanned-stop", UNPLANNED, where=where)))
    )


def keep_note(telling: Telling) -> Outcome:
    """Keep a note, with the photos that it announces."""
    telling.body()
    return Outcome(flags=tuple(telling.flags()))


def keep_amend(telling: Telling) -> Outcome:
    """Complete a draft with what was missing, amend what is a record, or ask the office to."""
    body = telling.body()
    wrong = FieldEvent.objects.filter(event_id=body["event"], person=telling.device.person).first()
    if wrong is None:
        flag = flag_of(warning("corrects-unknown", CORRECTS_UNKNOWN))
        return Outcome(flags=(*telling.flags(), flag))
    if wrong.result == FieldEvent.Result.NEEDS_INPUT:
        return _completed(wrong, telling, body["changes"])
    amended = amend_alone(wrong, telling)
    if amended:
        return Outcome(tuple(amended), tuple(telling.flags()))
    numbers = ", ".join(str(each.number) for each in wrong.records.all()) or "–"
    facts = {"numbers": numbers, "reason": body["reason"]}
    return Outcome(flags=(*telling.flags(), flag_of(warning("correction", CORRECTION, **facts))))


def _completed(draft: FieldEvent, telling: Telling, changes: Mapping[str, Any]) -> Outcome:
    """Keep a draft with what was missing, as if it had been told so at first."""
    outcome = keep_event(merged(draft, changes, telling.device), telling.device, telling.now)
    settle(draft, outcome)
    draft.save()
    draft.records.set(outcome.records)
    return outcome


def settle(row: FieldEvent, outcome: Outcome, missing: Sequence[Missing] = ()) -> None:
    """Write into a row what became of its event, and what its phone is told; not saved yet."""
    flags = outcome.all_flags()
    accepted = FieldEvent.Result.FLAGGED if flags else FieldEvent.Result.ACCEPTED
    row.result = FieldEvent.Result.NEEDS_INPUT if missing else accepted
    row.needs_review = row.result != FieldEvent.Result.ACCEPTED or row.kind == FieldEvent.Kind.NOTE
    row.reply = reply_to(str(row.event_id), row.result, outcome, missing)


def _visit(telling: Telling) -> Visit:
    if telling.visit is None:
        raise LookupError("An event of this kind belongs to a visit.")
    return telling.visit


KINDS: Mapping[str, Callable[[Telling], Outcome]] = {
    Kind.START: keep_start,
    Kind.COMPLETE: keep_complete,
    Kind.HOLD: keep_hold,
    Kind.UNPLANNED: keep_unplanned,
    Kind.AMEND: keep_amend,
    Kind.NOTE: keep_note,
}
