"""Starts and completes visits: records, store, days and letters in one transaction."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from services.completing.flags import flags_of_planting, flags_of_visit
from services.completing.reports import (
    ApplicationReport,
    VisitReport,
    applicator_of,
    as_reported,
    event_of,
    product_of,
    rate_of,
    stated_of,
)
from services.courses.moving import follow, fresh, locked
from services.models import Hook, Outbox, Visit
from services.telling.hooks import announce
from services.telling.outbox import queue
from treatments.models import ApplicationRecord, Applicator, Locker, RotationWeek
from treatments.recording import record_application
from treatments.recording.flagging import Flag
from treatments.rules.facts import Conditions

State = Visit.State


@transaction.atomic
def start_visit(visit: Visit, *, by: User | None, at: datetime) -> bool:
    """Note that a crew has begun a visit; say whether that was not known yet."""
    waiting = Visit.objects.filter(pk=visit.pk, state=State.NEEDS_ACTION)
    if waiting.update(state=State.IN_PROCESS, started_at=at, version=F("version") + 1):
        return True
    visit = fresh(visit)
    if visit.state == State.CANCELLED:
        raise ValidationError(
            _("The visit was cancelled. Ask the office before you begin."), code="cancelled"
        )
    return False


@transaction.atomic
def complete_visit(
    visit: Visit,
    *,
    reports: Sequence[ApplicationReport],
    started_at: datetime,
    done_at: datetime,
    by: User | None,
    applicator: Applicator | None = None,
    conditions: Conditions | None = None,
    captured_at: datetime | None = None,
    from_paper: bool = False,
    posted_at: datetime | None = None,
    note: str = "",
    form_id: UUID | None = None,
    supervisor: Applicator | None = None,
    flags: Sequence[Flag] = (),
    now: datetime | None = None,
) -> list[ApplicationRecord]:
    """Complete a visit: keep its records, draw the store, count the next days, tell the client.

    What was done is a fact: it is flagged where something speaks against it, never refused.  The
    same form gives the same records; a second person is told who was first.

    form_id: made with the form, so that a repeat is known
    flags: what is known against it beside what is found here
    now: when the book takes it, if not at this moment
    """
    told = VisitReport(
        reports=tuple(reports),
        conditions=conditions,
        started_at=started_at,
        done_at=done_at,
        applicator=applicator,
        by=by,
        captured_at=captured_at,
        from_paper=from_paper,
        posted_at=posted_at,
        note=note,
        form_id=form_id,
        supervisor=supervisor,
        flags=tuple(flags),
    )
    locked(visit.course)
    visit = as_reported(visit)
    known = known_records(visit, told)
    if known:
        return known
    refuse_second(visit)
    refuse_unusable(visit, told)
    records = keep_records(visit, told, now=now)
    _complete(visit, told)
    follow(visit)
    _queue_summary(visit, now or timezone.now())
    announce(
        Hook.Event.VISIT_COMPLETED,
        {"visit": visit.pk, "records": [record.number for record in records]},
        once=str(visit.pk),
        at=now or timezone.now(),
    )
    return records


@transaction.atomic
def add_report(
    visit: Visit, told: VisitReport, *, now: datetime | None = None
) -> list[ApplicationRecord]:
    """Keep what a second person reports of a visit that is completed, flagged for the office.

    Both reports stand until a person decides; the days of the course are not counted again.
    """
    locked(visit.course)
    visit = as_reported(visit)
    refuse_unusable(visit, told)
    return known_records(visit, told) or keep_records(visit, told, is_second=True, now=now)


def known_records(visit: Visit, told: VisitReport) -> list[ApplicationRecord]:
    """Return the records that the same form has made already, in its order; else none."""
    events = [event_of(each, told.form_id, product_of(each, visit)) for each in told.reports]
    kept = ApplicationRecord.objects.filter(event_id__in=[event for event in events if event])
    by_event = {record.event_id: record for record in kept}
    return [by_event[event] for event in events if event in by_event]


def refuse_second(visit: Visit) -> None:
    """Raise ValidationError where somebody else has completed the visit."""
    if visit.state != State.COMPLETED:
        return
    first = visit.records.select_related("recorded_by").order_by("number").first()
    who = first.recorded_by if first else None
    at = visit.made_at().astimezone(visit.course.property.zone())
    raise ValidationError(
        _("%(name)s completed this visit at %(at)s. If you sprayed as well, tell the office."),
        params={
            "name": who.get_full_name() or who.get_username() if who else _("Somebody"),
            "at": f"{at:%Y-%m-%d %H:%M}",
        },
        code="completed",
    )


def refuse_unusable(visit: Visit, told: VisitReport) -> None:
    """Raise ValidationError where what was told does not make a report yet."""
    if told.done_at < told.started_at:
        raise ValidationError(_("A visit is completed after it started."), code="ends_first")
    is_spray = visit.rotation_week.step == RotationWeek.Step.SPRAY
    if is_spray and not told.reports:
        raise ValidationError(
            _("Say what was applied on the plantings, or hold the visit."), code="no_reports"
        )
    for report in told.reports:
        applicator_of(told)
        product_of(report, visit)
        rate_of(report, visit)


def keep_records(
    visit: Visit, told: VisitReport, *, is_second: bool = False, now: datetime | None = None
) -> list[ApplicationRecord]:
    """Keep the records of a report and join them to the visit."""
    shared = [*flags_of_visit(visit, told, is_second=is_second), *told.flags]
    records, locker = [], locker_of(visit)
    for report in told.reports:
        stated = stated_of(report, visit, told)
        stated["flags"] = [*shared, *flags_of_planting(visit, report)]
        event_id = event_of(report, told.form_id, stated["product"])
        records.append(
            record_application(
                recorded_by=told.by, event_id=event_id, now=now, locker=locker, **stated
            )
        )
    visit.records.add(*records)
    return records


def locker_of(visit: Visit) -> Locker | None:
    """Return the locker of the truck that went to a visit, or None where none is known."""
    return Locker.objects.filter(truck__crew__dispatches__visits=visit.pk).first()


def _complete(visit: Visit, told: VisitReport) -> None:
    """Mark the visit as completed, unless another did while the records were kept."""
    open_visit = Visit.objects.filter(pk=visit.pk).exclude(state=State.COMPLETED)
    completed = open_visit.update(
        state=State.COMPLETED,
        started_at=told.started_at,
        completed_at=told.done_at,
        note=told.note or visit.note,
        left_out={},
        version=F("version") + 1,
    )
    visit.refresh_from_db(fields=["state", "started_at", "completed_at", "note", "version"])
    if not completed:
        refuse_second(visit)


def _queue_summary(visit: Visit, now: datetime) -> None:
    if not visit.course.property.client.letterbox():
        return
    queue(
        Outbox.Kind.CLIENT_SUMMARY,
        arguments={"visit": visit.pk},
        dedupe_key=f"client summary:{visit.pk}",
        not_before=now,
    )
