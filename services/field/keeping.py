"""Keeps what a phone said, kind by kind, by the actions that everybody uses.

Nothing is refused for being late, odd or in conflict: it is kept and flagged.  What belongs to no
visit of the crew, or cannot be a record yet, waits as a draft for the office.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError as RuleBroken

from services.completing import VisitReport, add_report, complete_visit, start_visit
from services.completing.reports import ApplicationReport
from services.devices import may_carry
from services.field.bodies import BODIES
from services.field.events import Event, Unreadable, flat, read_event
from services.field.outcomes import Missing, NeedsInput, Outcome, reply_to
from services.field.seeing import (
    Stop,
    check_label_seen,
    columns_seen,
    flags_on_event,
    stop_seen,
    was_sent,
)
from services.holding import hold_visit
from services.models import Device, FieldEvent, Visit
from services.rules.phone_clocks import SKEW
from treatments.models import ApplicationRecord
from treatments.recording import flag_of
from treatments.recording.flagging import Flag
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding, Severity, gettext_noop

UNKNOWN_VISIT = gettext_noop("The phone told of a visit that its crew was never sent.")
UNPLANNED = gettext_noop("An unplanned stop: %(where)s. Say which visit it was.")
NOT_OF_CREW = gettext_noop("%(person)s is of no crew any more.")
STARTED_CANCELLED = gettext_noop("Begun after the visit had been cancelled.")
HELD_AFTER = gettext_noop("Put off for %(reason)s, but the visit was %(state)s already.")
PARTLY = gettext_noop("Treated in part; left out: %(left)s. %(why)s")
CORRECTION = gettext_noop("The crew wants records %(numbers)s corrected: %(reason)s")
CORRECTS_UNKNOWN = gettext_noop("A correction of something that this phone never told.")

Kind = FieldEvent.Kind


@dataclass(frozen=True, slots=True)
class Telling:
    """An event on its way into the book: who tells it, what its crew saw, when we took it."""

    event: Event
    device: Device
    visit: Visit | None
    seen: Stop | None
    now: datetime

    def body(self) -> dict[str, Any]:
        """Return the body of the event, read by its kind; raise NeedsInput for what is missing."""
        return read_body(self.event.kind, self.event.body, self.visit)

    def flags(self) -> list[Flag]:
        """Return what is odd about the event itself."""
        found = flags_on_event(self.event, self.visit, self.seen)
        if not may_carry(self.device.person):
            person = self.device.person
            name = person.get_full_name() or person.get_username()
            found.append(flag_of(warning("not-of-crew", NOT_OF_CREW, person=name)))
        return found


def keep_event(event: Event, device: Device, now: datetime) -> Outcome:
    """Keep an event by its kind; raise NeedsInput where it cannot be a record yet."""
    visit = visit_of(event, device)
    seen = stop_seen(device, event, visit) if visit else None
    telling = Telling(event, device, visit, seen, now)
    if visit is None and event.kind not in (Kind.AMEND, Kind.NOTE, Kind.UNPLANNED):
        return _of_no_visit(telling)
    return KINDS[event.kind](telling)


def visit_of(event: Event, device: Device) -> Visit | None:
    """Return the visit that an event is about, where its crew has it or was ever sent it.

    Any other is as unknown as one that does not exist.
    """
    if event.visit_id is None:
        return None
    visit = Visit.objects.with_all_that_is_shown().filter(pk=event.visit_id).first()
    if visit is None:
        return None
    own = Visit.objects.filter(pk=visit.pk, dispatch__crew__technicians__user=device.person_id)
    return visit if own.exists() or was_sent(device, visit) else None


def read_body(kind: str, told: Mapping[str, Any], visit: Visit | None) -> dict[str, Any]:
    """Return a body by its kind; raise NeedsInput with each field that must be put right."""
    asked = BODIES[kind](data=told, context={"visit": visit})
    if not asked.is_valid():
        raise NeedsInput(
            Missing(field, getattr(error, "code", "invalid"), str(error))
            for field, error in flat(asked.errors)
        )
    return dict(asked.validated_data)


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


def report_of(telling: Telling, body: dict[str, Any], visit: Visit) -> VisitReport:
    """Return what was done at a visit, with all that is odd about it."""
    event, person = telling.event, telling.device.person
    air, left_out = body.get("conditions"), body.get("left_out")
    applications = body.get("reports", [])
    flags = [*telling.flags(), *_partly(left_out, visit)]
    for product in {_product(each, visit) for each in applications} - {None}:
        flags += check_label_seen(product, telling.seen)
    return VisitReport(
        reports=tuple(_application(each, visit, telling.seen) for each in applications),
        conditions=Conditions(at=body["started_at"], **air) if air else None,
        started_at=body["started_at"],
        done_at=event.done_at,
        applicator=body.get("applicator") or getattr(person, "applicator", None),
        supervisor=body.get("supervisor"),
        by=person,
        captured_at=event.captured_at,
        posted_at=body.get("posted_at"),
        note=_note(body.get("note", ""), left_out),
        form_id=event.event_id,
        flags=tuple(flags),
    )


def _application(told: dict[str, Any], visit: Visit, seen: Stop | None) -> ApplicationReport:
    product = _product(told, visit)
    return ApplicationReport(**told, copied=columns_seen(product, seen) if product else {})


def _product(told: dict[str, Any], visit: Visit):
    return told.get("product") or visit.rotation_week.product


def _note(note: str, left_out: Mapping[str, Any] | None) -> str:
    return "\n".join(part for part in (note, left_out["why"] if left_out else "") if part)[:4000]


def _partly(left_out: Mapping[str, Any] | None, visit: Visit) -> list[Flag]:
    if not left_out:
        return []
    left = visit.course.plantings.filter(pk__in=left_out["plantings"])
    names = ", ".join(planting.name for planting in left)
    return [flag_of(warning("treated-in-part", PARTLY, left=names, why=left_out["why"]))]


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
    """Complete a draft with what was missing, or ask the office to amend what is a record."""
    body = telling.body()
    wrong = FieldEvent.objects.filter(event_id=body["event"], person=telling.device.person).first()
    if wrong is None:
        flag = flag_of(warning("corrects-unknown", CORRECTS_UNKNOWN))
        return Outcome(flags=(*telling.flags(), flag))
    if wrong.result == FieldEvent.Result.NEEDS_INPUT:
        return _completed(wrong, telling, body["changes"])
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


def merged(draft: FieldEvent, changes: Mapping[str, Any], device: Device) -> Event:
    """Return the event of a draft with changes to its body; `done_at` is of the event itself."""
    told = json.loads(draft.told)
    told["body"] = {**told["body"], **{k: v for k, v in changes.items() if k != "done_at"}}
    if "done_at" in changes:
        told["done_at"] = changes["done_at"]
    try:
        return read_event(told, device)
    except Unreadable as error:
        raise NeedsInput([Missing("changes", error.code, error.detail)]) from error


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


def warning(code: str, sentence: str, **facts: object) -> Finding:
    """Return something odd that is kept as a flag."""
    return Finding(code, Severity.WARNING, sentence, facts=facts, source="common practice")


KINDS: Mapping[str, Callable[[Telling], Outcome]] = {
    Kind.START: keep_start,
    Kind.COMPLETE: keep_complete,
    Kind.HOLD: keep_hold,
    Kind.UNPLANNED: keep_unplanned,
    Kind.AMEND: keep_amend,
    Kind.NOTE: keep_note,
}
