"""What the office decides of what phones said: what stands, what was told twice, what a draft was.

A record is amended or declared void on its own page, by who may; here it is only noted which of two
reports stands, and why.
"""

import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.completing import VisitReport
from services.field.events import Event, Unreadable, read_event
from services.field.keeping import kept, settle
from services.field.outcomes import Outcome
from services.field.seeing import flags_on_event, stop_seen
from services.models import FieldEvent, Visit
from treatments.models import ApplicationRecord
from treatments.recording import current_of

Decision = FieldEvent.Decision
SHORTEST_REASON = 10
SECOND = "second-report"


def decisions_for(event: FieldEvent) -> list[str]:
    """Return what may be decided of an event."""
    if event.kind == FieldEvent.Kind.NOTE:
        return [Decision.SEEN]
    if not event.records.exists():
        return [Decision.SEEN, Decision.DROPPED, Decision.AMENDED]
    if _is_second(event):
        places = [Decision.BOTH, Decision.THIS_TWICE, Decision.FIRST_TWICE, Decision.OTHER_PLACE]
        return [str(each) for each in places]
    return [Decision.SEEN, Decision.AMENDED]


@transaction.atomic
def decide(event: FieldEvent, *, decision: str, reason: str, by: User, at: datetime) -> FieldEvent:
    """Note what was decided of an event, once; raise ValidationError where it cannot be so yet."""
    if event.decided_at is not None:
        return _decided_before(event, decision)
    if decision not in decisions_for(event):
        raise ValidationError(_("That cannot be decided of this report."), code="no_decision")
    if len(reason.strip()) < SHORTEST_REASON:
        raise ValidationError(_("Give the reason in ten signs or more."), code="reason_too_short")
    _refuse_undone(event, decision)
    open_event = FieldEvent.objects.filter(pk=event.pk, decided_at__isnull=True)
    decided = open_event.update(
        decision=decision, decision_reason=reason.strip(), decided_by=by, decided_at=at
    )
    event.refresh_from_db()
    return event if decided else _decided_before(event, decision)


def _decided_before(event: FieldEvent, decision: str) -> FieldEvent:
    """Return an event on which another has decided the same; raise where it was otherwise."""
    if event.decision == decision:
        return event
    raise ValidationError(
        _("%(name)s has decided this already."), params={"name": event.decided_by}, code="decided"
    )


def _is_second(event: FieldEvent) -> bool:
    """Say whether two reports of a visit stand beside one another, this one among them."""
    return any(
        flag["code"] == SECOND
        for record in [*event.records.all(), *others_of(event)]
        for flag in record.flags
    )


def _refuse_undone(event: FieldEvent, decision: str) -> None:
    """Raise ValidationError while the records still say other than what is decided."""
    if decision == Decision.THIS_TWICE:
        _refuse_standing(event.records.all())
    elif decision == Decision.FIRST_TWICE:
        _refuse_standing(others_of(event))
    elif decision == Decision.OTHER_PLACE and not any(
        current_of(record).planting_id != record.planting_id for record in event.records.all()
    ):
        raise ValidationError(
            _("Amend the record first: name the planting that it was."), code="not_amended"
        )


def others_of(event: FieldEvent) -> Iterable[ApplicationRecord]:
    """Return the records of the same visit that another report has made."""
    if event.visit is None:
        return ApplicationRecord.objects.none()
    first_ones = event.visit.records.filter(amends__isnull=True)
    return first_ones.exclude(pk__in=event.records.values("pk"))


def _refuse_standing(records: Iterable[ApplicationRecord]) -> None:
    standing = [str(each.number) for each in records if not current_of(each).void]
    if standing:
        raise ValidationError(
            _("Declare void what was told twice first: record %(numbers)s."),
            params={"numbers": ", ".join(standing)},
            code="not_void",
        )


def is_draft(event: FieldEvent) -> bool:
    """Say whether an event may yet become a report of a visit."""
    is_report = event.kind in (FieldEvent.Kind.COMPLETE, FieldEvent.Kind.UNPLANNED)
    is_open = event.device_id is not None and event.decided_at is None
    return is_open and is_report and not event.records.exists()


@transaction.atomic
def say_which_visit(event: FieldEvent, visit: Visit) -> None:
    """Note which visit a draft is of."""
    if is_draft(event):
        FieldEvent.objects.filter(pk=event.pk).update(visit=visit)
        event.refresh_from_db()


@transaction.atomic
def complete_draft(
    event: FieldEvent, told: VisitReport, *, by: User, now: datetime
) -> list[ApplicationRecord]:
    """Keep the records of a draft that the office has made whole; done twice it is done once."""
    if event.visit is None:
        raise ValidationError(_("Say first which visit it was."), code="no_visit")
    records = kept(event.visit, told, now)
    settle(event, Outcome(tuple(records), told.flags))
    event.decision, event.decided_by, event.decided_at = Decision.COMPLETED, by, now
    event.save()
    event.records.set(records)
    return records


def told_by(event: FieldEvent) -> dict[str, Any]:
    """Return what a phone sent, as it was sent."""
    return json.loads(event.told)


def flags_of_draft(event: FieldEvent) -> list[dict[str, Any]]:
    """Return what is odd about the event of a draft: its clock, its zone, a visit that moved."""
    read, device = _read(event), event.device
    if read is None or device is None:
        return []
    seen = stop_seen(device, read, event.visit) if event.visit else None
    return flags_on_event(read, event.visit, seen)


def _read(event: FieldEvent) -> Event | None:
    if event.device is None:
        return None
    try:
        return read_event(told_by(event), event.device)
    except Unreadable:
        return None
