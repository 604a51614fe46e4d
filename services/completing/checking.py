"""What label, air and certificate say on the spot, before anything is sprayed."""

from collections.abc import Sequence
from datetime import datetime

from services.completing.reports import (
    ApplicationReport,
    VisitReport,
    as_reported,
    stated_of,
)
from services.models import Visit
from treatments.models import ApplicationRecord, Applicator
from treatments.recording.flagging import check_air, check_label, check_lot, check_people
from treatments.recording.keeping import copied_columns, stated_columns
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding, Severity


def check_before_spraying(
    visit: Visit,
    *,
    reports: Sequence[ApplicationReport],
    conditions: Conditions | None,
    at: datetime,
    applicator: Applicator,
    supervisor: Applicator | None = None,
) -> list[Finding]:
    """Return what stands against what a crew is about to apply, the gravest first.

    The page shows it before; a record is kept all the same, for it tells what was done.
    """
    told = VisitReport(
        reports=tuple(reports),
        conditions=conditions,
        started_at=at,
        done_at=at,
        applicator=applicator,
        supervisor=supervisor,
        by=None,
    )
    visit = as_reported(visit)
    found: dict[tuple[str, str], Finding] = {}
    for report in reports:
        for finding in _of_report(report, visit, told):
            found.setdefault((finding.code, finding.say()), finding)
    order = [Severity.REFUSAL, Severity.WARNING, Severity.NOTE]
    return sorted(found.values(), key=lambda finding: order.index(finding.severity))


def _of_report(report: ApplicationReport, visit: Visit, told: VisitReport) -> list[Finding]:
    stated = stated_of(report, visit, told)
    record = ApplicationRecord(**copied_columns(stated) | stated_columns(stated, told.done_at))
    left = report.lot.left() - report.product_amount if report.lot else None
    return [
        *check_label(record, told.done_at),
        *check_air(record),
        *check_people(record, report.sprayer),
        *check_lot(record, left),
    ]
