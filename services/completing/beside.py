"""A second report of a visit, told by other ways than a phone: kept, and brought to a person."""

import json
from datetime import datetime
from uuid import uuid4

from django.db import transaction
from django.utils import timezone

from services.completing.keeping import add_report
from services.completing.reports import VisitReport
from services.models import FieldEvent, Visit
from treatments.models import ApplicationRecord


@transaction.atomic
def keep_beside(
    visit: Visit, told: VisitReport, *, now: datetime | None = None
) -> list[ApplicationRecord]:
    """Keep a report beside the first one of its visit, and let the office decide which holds.

    What the office decided before of earlier reports stays decided.  The same form is kept once.
    """
    if told.by is None:
        raise LookupError("Somebody tells a report.")
    received_at = now or timezone.now()
    records = add_report(visit, told, now=received_at)
    report, is_new = FieldEvent.objects.get_or_create(
        event_id=told.form_id or uuid4(),
        defaults={
            "person": told.by,
            "device_seq": 0,
            "kind": FieldEvent.Kind.COMPLETE,
            "visit": visit,
            "done_at": told.done_at,
            "captured_at": told.captured_at or received_at,
            "received_at": received_at,
            "told": json.dumps({"body": {"note": told.note} if told.note else {}}),
            "result": FieldEvent.Result.FLAGGED,
            "needs_review": True,
        },
    )
    if is_new:
        report.records.set(records)
    return records
