"""Keeps rotations: only without a refusal, and with a reason for each warning."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import PROTECT, F
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from clients.models import PlantGroup, Planting
from treatments.certified import is_certified
from treatments.checking import check_weeks
from treatments.models import AcceptedWarning, Pest, Rotation, RotationWeek
from treatments.rules.findings import Finding, Severity

WEEK_COLUMNS = [
    "week",
    "step",
    "product",
    "rate",
    "basis",
    "adjuvant",
    "adjuvant_rate",
    "purpose",
    "at_dusk",
    "minimum_days",
    "planned_days",
    "maximum_days",
]


class FindingsStand(ValidationError):
    """A rotation is not kept because of findings, which the error carries."""

    def __init__(self, message: Any, code: str, findings: list[Finding]) -> None:
        super().__init__(message, code=code, params={"count": len(findings)})
        self.findings = findings


@transaction.atomic
def keep_rotation(
    *,
    name: str,
    pest: Pest,
    plant_group: str,
    weeks: Sequence[RotationWeek],
    by: Any,
    first_day: date,
    reasons: Mapping[str, str] | None = None,
    plantings: Sequence[Planting] = (),
    rotation: Rotation | None = None,
    version: int | None = None,
    note: str = "",
    today: date | None = None,
    at: datetime | None = None,
) -> Rotation:
    """Keep a rotation with its weeks, new or in place of what `rotation` was.

    Kept by somebody without a certificate it is a draft until somebody with one approves it.

    weeks: not kept yet, numbered from 1
    reasons: why a warning is accepted, by `finding_key`
    at: when it is composed, if not at this moment
    version: of the rotation when it was opened; another one since means somebody changed it

    Raise FindingsStand with code "refused" or "reason_missing", ValidationError with code
    "in_use" or "stale", or what the columns say.
    """
    at = at or timezone.now()
    new = Rotation(composed_by=by, composed_at=at)
    kept = _taken_over(rotation, version) if rotation else new
    kept.name, kept.pest, kept.plant_group, kept.note = name, pest, plant_group, note
    _clean(kept, weeks)
    findings = check_weeks(
        weeks,
        pest=pest,
        first_day=first_day,
        plantings=plantings,
        plant_group=plant_group,
        today=today or timezone.localdate(),
    )
    accepted = accepted_with(findings, reasons or {})
    _mark_approval(kept, by, at)
    kept.save()
    _replace_weeks(kept, weeks)
    _replace_warnings(kept, accepted, by, at)
    return kept


@transaction.atomic
def approve_rotation(rotation: Rotation, *, by: Any, at: datetime) -> bool:
    """Approve a draft, so that courses may go by it; say whether that is new.

    Raise ValidationError with code "not_certified" where a person holds no certificate.
    """
    if not is_certified(by, timezone.localdate(at)):
        raise ValidationError(
            _("A rotation is approved by somebody who holds a certificate."), code="not_certified"
        )
    drafts = Rotation.objects.filter(pk=rotation.pk, is_draft=True)
    return bool(
        drafts.update(is_draft=False, approved_by=by, approved_at=at, version=F("version") + 1)
    )


def finding_key(finding: Finding) -> str:
    """Return the name under which the reason for a warning is given: its week and code.

    >>> finding_key(Finding("waxy-leaf", Severity.NOTE, "", week=3))
    '3-waxy-leaf'
    """
    return f"{finding.week or 0}-{finding.code}"


def accepted_with(
    findings: Sequence[Finding], reasons: Mapping[str, str]
) -> list[tuple[Finding, str]]:
    """Return the warnings with their reasons; raise FindingsStand where something stands."""
    refusals = [finding for finding in findings if finding.severity is Severity.REFUSAL]
    if refusals:
        raise FindingsStand(
            ngettext_lazy(
                "%(count)d refusal stands against this rotation.",
                "%(count)d refusals stand against this rotation.",
                "count",
            ),
            "refused",
            refusals,
        )
    warnings = [finding for finding in findings if finding.severity is Severity.WARNING]
    given = [(each, reasons.get(finding_key(each), "").strip()) for each in warnings]
    if silent := [finding for finding, reason in given if not reason]:
        raise FindingsStand(
            ngettext_lazy(
                "Say why %(count)d warning is accepted.",
                "Say why %(count)d warnings are accepted.",
                "count",
            ),
            "reason_missing",
            silent,
        )
    return given


def is_in_use(rotation: Rotation) -> bool:
    """Say whether something above, such as a course, rests on a rotation as it is."""
    return any(
        relation.related_model._default_manager.filter(**{relation.field.name: rotation}).exists()
        for relation in rotation._meta.related_objects
        if relation.on_delete is PROTECT
    )


def _taken_over(rotation: Rotation, version: int | None) -> Rotation:
    """Raise the version of a rotation that may be changed, once for two who try at a time."""
    if is_in_use(rotation):
        raise ValidationError(
            _("This rotation is on a course and stays as it is. Compose another like it."),
            code="in_use",
        )
    seen = rotation.version if version is None else version
    changed = Rotation.objects.filter(pk=rotation.pk, version=seen).update(version=F("version") + 1)
    if not changed:
        raise ValidationError(
            _("Somebody changed this rotation meanwhile. Open it again."), code="stale"
        )
    return Rotation.objects.get(pk=rotation.pk)


def _mark_approval(rotation: Rotation, by: Any, at: datetime) -> None:
    """Note who answers for a rotation; without a certificate it is a draft."""
    approves = is_certified(by, timezone.localdate(at))
    rotation.is_draft = not approves
    rotation.approved_by, rotation.approved_at = (by, at) if approves else (None, None)


def _clean(rotation: Rotation, weeks: Sequence[RotationWeek]) -> None:
    rotation.full_clean()
    if rotation.plant_group not in PlantGroup.values:
        raise ValidationError({"plant_group": _("Choose a site as labels name them.")})
    numbers = [week.week for week in weeks]
    if not numbers or sorted(numbers) != list(range(1, len(numbers) + 1)):
        raise ValidationError(_("Weeks are numbered from 1 without a gap."), code="weeks_numbered")
    wrong = [sentence for week in weeks for sentence in _wrong_in(week)]
    if wrong:
        raise ValidationError(wrong)


def _wrong_in(week: RotationWeek) -> list[ValidationError]:
    try:
        week.full_clean(exclude=["rotation"], validate_unique=False)
    except ValidationError as wrong:
        return [
            ValidationError(
                _("Week %(week)s: %(sentence)s"),
                params={"week": week.week, "sentence": sentence},
                code="week",
            )
            for sentence in wrong.messages
        ]
    return []


def _replace_weeks(rotation: Rotation, weeks: Sequence[RotationWeek]) -> None:
    rotation.weeks.all().delete()
    for week in weeks:
        rotation.weeks.create(**_columns(week))


def _columns(week: RotationWeek) -> dict[str, Any]:
    return {column: getattr(week, column) for column in WEEK_COLUMNS}


def _replace_warnings(
    rotation: Rotation, accepted: Sequence[tuple[Finding, str]], by: Any, at: datetime
) -> None:
    rotation.accepted_warnings.all().delete()
    AcceptedWarning.objects.bulk_create(
        AcceptedWarning(
            rotation=rotation,
            code=finding.code,
            week=finding.week,
            sentence=finding.say(),
            reason=reason,
            accepted_by=by,
            accepted_at=at,
        )
        for finding, reason in accepted
    )


def copy_rotation(
    rotation: Rotation, *, name: str, by: Any, first_day: date, today: date | None = None
) -> Rotation:
    """Keep another rotation like this one, checked anew, with the reasons given for this one."""
    given = rotation.accepted_warnings.all()
    return keep_rotation(
        name=name,
        pest=rotation.pest,
        plant_group=rotation.plant_group,
        weeks=copied_weeks(rotation),
        by=by,
        first_day=first_day,
        reasons={f"{warning.week or 0}-{warning.code}": warning.reason for warning in given},
        note=rotation.note,
        today=today,
    )


def copied_weeks(rotation: Rotation) -> list[RotationWeek]:
    """Return the weeks of a rotation as new ones that are not kept yet."""
    return [RotationWeek(**_columns(week)) for week in rotation.weeks.all()]
