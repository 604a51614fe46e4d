"""The weeks of a course as a page shows them."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from services.models import Course, Hold, Visit
from treatments.models import RotationWeek


class Mark(StrEnum):
    """What stands on a visit's day: it follows from dated facts and is no state."""

    PLANNED = "planned"
    DISPATCHED = "dispatched"
    HELD = "held"
    UNDER_WAY = "under way"
    DONE = "done"
    CANCELLED = "cancelled"


MARKS: dict[str, Mark] = {
    Visit.State.COMPLETED: Mark.DONE,
    Visit.State.CANCELLED: Mark.CANCELLED,
    Visit.State.IN_PROCESS: Mark.UNDER_WAY,
}


@dataclass(frozen=True, slots=True)
class CourseWeek:
    """A week of a rotation with its visit in a course."""

    week: int
    rotation_week: RotationWeek
    visit: Visit
    mark: Mark
    day: date
    hold: Hold | None
    is_late: bool


def course_weeks(course: Course, today: date) -> list[CourseWeek]:
    """Return the weeks of a course in order, in a fixed number of queries."""
    visits = course.visits.with_all_that_is_shown().order_by("rotation_week__week")
    return [
        CourseWeek(
            week=visit.week,
            rotation_week=visit.rotation_week,
            visit=visit,
            mark=mark_of(visit),
            day=day_of(visit),
            hold=visit.open_hold(),
            is_late=visit.is_late_on(today),
        )
        for visit in visits
    ]


def mark_of(visit: Visit) -> Mark:
    """Return what stands on the day of a visit that was loaded with its holds."""
    if visit.state in MARKS:
        return MARKS[visit.state]
    if visit.open_hold():
        return Mark.HELD
    return Mark.DISPATCHED if visit.dispatch_id else Mark.PLANNED


def day_of(visit: Visit) -> date:
    """Return the day a visit was made, is dispatched for, or is planned for."""
    if visit.completed_at:
        return visit.completed_at.astimezone(visit.course.property.zone()).date()
    return visit.dispatch.day if visit.dispatch else visit.planned
