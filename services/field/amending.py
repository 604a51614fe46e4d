"""A correction from the phone of somebody who corrects alone: kept at once as amended records.

Who that is, `treatments.approval` says.  Whatever is more than other values in records that stand
as they were first kept goes to the office, which looks at it as at everybody else's.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import uuid5

from django.core.exceptions import ValidationError as RuleBroken
from django.db import transaction

from services.completing.reports import ApplicationReport, event_of, product_of, stated_of
from services.field.outcomes import NeedsInput
from services.field.telling import Telling, merged, report_of
from services.models import FieldEvent
from treatments.approval import amends_alone
from treatments.models import ApplicationRecord
from treatments.recording import amend_application, current_of

# What of a report its records say; the rest is told of the visit.
OF_RECORDS = {
    "started_at",
    "done_at",
    "posted_at",
    "applicator",
    "supervisor",
    "conditions",
    "reports",
}
NOT_CHANGED = {"captured_at", "from_paper", "notices", "adjuvant", "recommender_name"}

Changes = Mapping[str, Any]


def amend_alone(wrong: FieldEvent, telling: Telling) -> list[ApplicationRecord]:
    """Return the amended records, or none where the office must look first."""
    changes = telling.event.body["changes"]
    records = {record.event_id: record for record in wrong.records.all()}
    if not records or not set(changes) <= OF_RECORDS:
        return []
    if not all(_may_amend(telling, record) for record in records.values()):
        return []
    try:
        with transaction.atomic():
            return _amended(wrong, telling, records, changes)
    except (NeedsInput, RuleBroken):
        return []


def _may_amend(telling: Telling, record: ApplicationRecord) -> bool:
    stands = current_of(record) == record and not record.void
    return stands and amends_alone(telling.device.person, record)


def _amended(
    wrong: FieldEvent, telling: Telling, records: dict[Any, ApplicationRecord], changes: Changes
) -> list[ApplicationRecord]:
    """Keep a second record in place of each that says something else by now."""
    before, after = _stated(wrong, telling, {}), _stated(wrong, telling, changes)
    if not before.keys() == after.keys() == records.keys():
        return []
    differing = {key: _differing(before[key], after[key]) for key in records}
    if any(each is None for each in differing.values()):
        return []
    return [
        amend_application(
            records[key],
            reason=telling.event.body["reason"],
            by=telling.device.person,
            event_id=uuid5(telling.event.event_id, str(key)),
            now=telling.now,
            **told,
        )
        for key, told in differing.items()
        if told
    ]


def _differing(before: Changes, after: Changes) -> dict[str, Any] | None:
    """Return what is told otherwise; None where something is not told any more."""
    if before.keys() - after.keys() - NOT_CHANGED:
        return None
    return {
        name: value
        for name, value in after.items()
        if name not in NOT_CHANGED and before.get(name) != value
    }


def _stated(wrong: FieldEvent, telling: Telling, changes: Changes) -> dict[Any, Changes]:
    """Return what the records of a report are told, by the ids that they have of it."""
    visit, device = wrong.visit, wrong.device
    if visit is None or device is None:
        return {}
    event = merged(wrong, changes, device)
    read = replace(telling, event=event, device=device, visit=visit, seen=None)
    told = report_of(read, read.body(), visit)
    return {_id_of(each, visit, wrong): stated_of(each, visit, told) for each in told.reports}


def _id_of(report: ApplicationReport, visit: Any, wrong: FieldEvent) -> Any:
    return event_of(report, wrong.event_id, product_of(report, visit))
