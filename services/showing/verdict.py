"""What stands against spraying a visit here and now, for page and program alike."""

from collections.abc import Collection, Sequence
from datetime import datetime

from services.completing import ApplicationReport, check_before_spraying
from services.courses import is_at_dusk
from services.models import Visit
from services.printing.stops import labels_of
from treatments.models import Applicator
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding, Severity
from treatments.rules.psychrometrics import InversionSign, check_inversion
from treatments.rules.spraying import spray_verdict

# The air is asked with all its numbers first; the record's own check knows no forecast.
AIR_NOT_GIVEN = {"wind-unknown", "temperature-unknown", "rain-unknown"}


def verdict_on(
    visit: Visit,
    *,
    conditions: Conditions,
    reports: Sequence[ApplicationReport] = (),
    applicator: Applicator | None = None,
    supervisor: Applicator | None = None,
    at: datetime,
    signs: Collection[InversionSign] = (),
    solid_cloud: bool = False,
) -> list[Finding]:
    """Return what stands against spraying now, the gravest first; nothing means go.

    Without reports or applicator only the air is asked.  signs, solid_cloud: seen in the sky
    """
    if visit.rotation_week.product is None:
        return []
    day = at.astimezone(visit.course.property.zone()).date()
    found = spray_verdict(conditions, labels_of(visit), at_dusk=is_at_dusk(visit, day))
    found += check_inversion(signs, wind_of(conditions), solid_cloud=solid_cloud)
    if reports and applicator:
        others = check_before_spraying(
            visit,
            reports=reports,
            conditions=None,
            at=at,
            applicator=applicator,
            supervisor=supervisor,
        )
        found += [finding for finding in others if finding.code not in AIR_NOT_GIVEN]
    return gravest_first(found)


def gravest_first(found: Sequence[Finding]) -> list[Finding]:
    """Return each thing said once, the gravest first."""
    once = {finding.say(): finding for finding in found}.values()
    gravest = list(Severity)[::-1]
    return sorted(once, key=lambda finding: gravest.index(finding.severity))


def wind_of(conditions: Conditions) -> float | None:
    """Return the wind as it was measured, None where it was not."""
    return None if conditions.wind_mph is None else float(conditions.wind_mph)
