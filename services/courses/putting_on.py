"""Puts a rotation on plantings: one course a property, with a visit for every week."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models import Planting, Property
from services.courses.days import steps_of, working_days
from services.models import Course, Visit
from services.rules.scheduling import PlannedVisit, course_days
from treatments.checking import check_course
from treatments.models import Rotation
from treatments.rules.findings import Finding, Severity, refuses


@transaction.atomic
def put_on(
    *,
    rotation: Rotation,
    plantings: Sequence[Planting],
    first_day: date,
    by: User | None,
    today: date,
    at: datetime | None = None,
) -> list[Course]:
    """Put a rotation on plantings from a first day, one course a property; twice does it once.

    at: when it is put on, if not at this moment

    Raises ValidationError, with the code "refused" where a rule stands against it: its params hold
    `findings`, the refusals by the id of each planting, and `together`, those of all.
    """
    _refuse_what_cannot_begin(rotation, plantings, first_day, today)
    begun = _begun(rotation, plantings, first_day)
    fresh = [each for each in plantings if not _has(begun.get(each.property_id), each)]
    if fresh:
        _refuse_what_rules_forbid(rotation, fresh, first_day, today)
    started = {"started_by": by, "started_at": at or timezone.now()}
    by_property: dict[Property, list[Planting]] = defaultdict(list)
    for planting in plantings:
        by_property[planting.property].append(planting)
    return [
        _join(begun[place.pk], theirs)
        if place.pk in begun
        else _begin(rotation, place, theirs, first_day, started)
        for place, theirs in by_property.items()
    ]


def _refuse_what_cannot_begin(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date, today: date
) -> None:
    if not plantings:
        raise ValidationError(_("Choose the plantings to be treated."), code="no_plantings")
    if first_day < today:
        raise ValidationError(_("A course begins today or later."), code="past")
    for planting in plantings:
        planting.property.lies_at()  # days, ways and hours of dusk hang on it
    if rotation.is_draft:
        raise ValidationError(
            _("%(rotation)s is a draft: somebody who holds a certificate approves it first."),
            params={"rotation": rotation.name},
            code="draft",
        )
    if rotation.retired or not rotation.weeks.exists():
        raise ValidationError(
            _("%(rotation)s is no longer offered, or has no weeks."),
            params={"rotation": rotation.name},
            code="no_rotation",
        )


def _begun(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date
) -> Mapping[int, Course]:
    places = {planting.property_id for planting in plantings}
    courses = Course.objects.filter(
        rotation=rotation, first_day=first_day, property__in=places
    ).prefetch_related("plantings", "visits")
    return {course.property_id: course for course in courses}


def _has(course: Course | None, planting: Planting) -> bool:
    return course is not None and planting in course.plantings.all()


def _refuse_what_rules_forbid(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date, today: date
) -> None:
    together = _refusals(check_course(rotation, plantings, first_day, today))
    if not together:
        return
    each = {
        planting.pk: _refusals(check_course(rotation, [planting], first_day, today))
        for planting in plantings
    }
    raise ValidationError(
        _("The rotation may not be put on: %(reason)s"),
        params={"reason": together[0].say(gettext), "findings": each, "together": together},
        code="refused",
    )


def _refusals(findings: list[Finding]) -> list[Finding]:
    if not refuses(findings):
        return []
    return [finding for finding in findings if finding.severity is Severity.REFUSAL]


def _begin(
    rotation: Rotation,
    place: Property,
    plantings: Sequence[Planting],
    first_day: date,
    started: dict[str, Any],
) -> Course:
    course, is_new = Course.objects.get_or_create(
        property=place, rotation=rotation, first_day=first_day, defaults=started
    )
    if not is_new:
        return _join(course, plantings)
    course.plantings.set(plantings)
    Visit.objects.bulk_create(visits_to_be(course))
    return course


def visits_to_be(course: Course) -> list[Visit]:
    """Return a visit for each week of a course's rotation, on its days; none is in the book yet."""
    weeks = course.rotation.weeks.order_by("week").select_related("product")
    weeks = weeks.prefetch_related("product__contents__ingredient")
    days = course_days(course.first_day, steps_of(course.rotation), working_days(course.property))
    return [_visit(course, week, day) for week, day in zip(weeks, days, strict=True)]


def _visit(course: Course, week, day: PlannedVisit) -> Visit:
    return Visit(
        course=course,
        rotation_week=week,
        earliest=day.earliest,
        planned=day.planned,
        latest=day.latest,
    )


def _join(course: Course, plantings: Sequence[Planting]) -> Course:
    """Add the plantings a course does not have yet, as long as no visit of it was made."""
    missing = set(plantings) - set(course.plantings.all())
    if not missing:
        return course
    if any(visit.state != Visit.State.NEEDS_ACTION for visit in course.visits.all()):
        raise ValidationError(
            _("%(course)s is under way; put the rotation on other plantings by itself."),
            params={"course": str(course)},
            code="under_way",
        )
    course.plantings.add(*missing)
    return course
