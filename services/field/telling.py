"""An event on its way into the book: read by its kind, with all that is odd about it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from services.completing import VisitReport, treated_in_part
from services.completing.reports import ApplicationReport
from services.devices import may_carry
from services.field.bodies import BODIES
from services.field.events import Event, Unreadable, flat, read_event
from services.field.outcomes import Missing, NeedsInput
from services.field.seeing import (
    Stop,
    check_label_seen,
    columns_seen,
    flags_on_event,
    was_sent,
)
from services.models import Device, FieldEvent, Visit
from treatments.recording import flag_of
from treatments.recording.flagging import Flag
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding, Severity, gettext_noop

NOT_OF_CREW = gettext_noop("%(person)s is of no crew any more.")


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
    return treated_in_part(left, left_out["why"])


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


def warning(code: str, sentence: str, **facts: object) -> Finding:
    """Return something odd that is kept as a flag."""
    return Finding(code, Severity.WARNING, sentence, facts=facts, source="common practice")
