"""What the schedule knows against an application that was made all the same: kept as flags."""

from collections.abc import Iterable

from django.db.models import Q

from clients.models import Planting
from services.completing.reports import ApplicationReport, VisitReport
from services.models import Visit
from treatments.recording.flagging import Flag, flag_of
from treatments.rules.findings import Finding, Severity, gettext_noop

DURING_HOLD = gettext_noop("Applied while the visit was held for %(reason)s since %(since)s.")
CANCELLED = gettext_noop("Applied after the visit had been cancelled.")
OTHER_PLANTING = gettext_noop("%(planting)s is no planting of this course.")
OUT_OF_DAYS = gettext_noop("Applied on %(day)s; the days were %(earliest)s to %(latest)s.")
PARTLY = gettext_noop("Treated in part; left out: %(left)s. %(why)s")
SECOND_REPORT = gettext_noop(
    "The visit had been reported before, by another person. Decide which of the reports stand."
)


def flags_of_visit(visit: Visit, told: VisitReport, *, is_second: bool = False) -> list[Flag]:
    """Return what is flagged on every record of a visit."""
    findings = [*_held(visit, told), *_days(visit, told)]
    if visit.state == Visit.State.CANCELLED:
        findings.append(_finding("applied-after-cancelling", CANCELLED))
    if is_second:
        findings.append(_finding("second-report", SECOND_REPORT))
    return [flag_of(finding) for finding in findings]


def treated_in_part(left: Iterable[Planting], why: str) -> list[Flag]:
    """Return what is flagged where some plantings were left untreated."""
    names = ", ".join(planting.name for planting in left)
    return [flag_of(_finding("treated-in-part", PARTLY, left=names, why=why))]


def flags_of_planting(visit: Visit, report: ApplicationReport) -> list[Flag]:
    """Return what is flagged on the record of one planting."""
    if report.planting in visit.course.plantings.all():
        return []
    return [flag_of(_finding("other-planting", OTHER_PLANTING, planting=report.planting.name))]


def _held(visit: Visit, told: VisitReport) -> list[Finding]:
    standing = Q(lifted_at__isnull=True) | Q(lifted_at__gt=told.started_at)
    zone = visit.course.property.zone()
    return [
        _finding(
            "applied-during-hold",
            DURING_HOLD,
            reason=hold.reason,
            since=f"{hold.set_at.astimezone(zone):%Y-%m-%d %H:%M}",
        )
        for hold in visit.holds.filter(standing, set_at__lte=told.done_at)
    ]


def _days(visit: Visit, told: VisitReport) -> list[Finding]:
    day = told.done_at.astimezone(visit.course.property.zone()).date()
    if visit.earliest <= day <= visit.latest:
        return []
    return [
        _finding(
            "out-of-days",
            OUT_OF_DAYS,
            day=day.isoformat(),
            earliest=visit.earliest.isoformat(),
            latest=visit.latest.isoformat(),
        )
    ]


def _finding(code: str, sentence: str, **facts: object) -> Finding:
    return Finding(code, Severity.WARNING, sentence, facts=facts, source="common practice")
