"""Ends a course: what is still to be made is cancelled, what was made stays."""

from datetime import datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from services.courses.moving import locked
from services.models import Course, Visit
from services.routes import leave_route


@transaction.atomic
def end_course(
    course: Course,
    *,
    outcome: Course.Outcome,
    by: User | None,
    at: datetime,
    note: str = "",
) -> bool:
    """End a course with how it came out; say whether it was open until now.

    Visits that are to be made are cancelled; one that is under way may still be completed.
    """
    if outcome == Course.Outcome.OPEN:
        raise ValidationError(_("Say how the course came out."), code="no_outcome")
    if locked(course).ended_at is not None:
        return False
    open_visits = course.visits.filter(state=Visit.State.NEEDS_ACTION).select_related("dispatch")
    for visit in open_visits:
        leave_route(visit)
        Visit.objects.filter(pk=visit.pk).update(
            state=Visit.State.CANCELLED, version=F("version") + 1
        )
    Course.objects.filter(pk=course.pk).update(ended_at=at, outcome=outcome, outcome_note=note)
    course.refresh_from_db()
    return True
