"""The weeks of a course as its page shows them."""

from dataclasses import dataclass
from datetime import date

from clients.access import CERTIFIED, has_role
from services.charting import groups_of_contents
from services.courses import CourseWeek, course_weeks
from services.models import Course, Visit
from services.showing.standing import SIGNS, standing_of
from treatments.models import ApplicationRecord


@dataclass(frozen=True, slots=True)
class CourseRow:
    """A week of a course: its product, its days, how it stands, and what may be done about it."""

    turn: CourseWeek
    mode: str
    sign: str
    standing: str
    records: list[ApplicationRecord]
    may_move: bool
    may_hold: bool
    may_lift: bool


def course_rows(course: Course, today: date, user) -> list[CourseRow]:
    """Return the weeks of a course in order, in a fixed number of queries."""
    turns = course_weeks(course, today)
    records = _records_of([turn.visit for turn in turns])
    lifts = has_role(user, CERTIFIED)
    return [_row(turn, records.get(turn.visit.pk, []), today, lifts) for turn in turns]


def _row(turn: CourseWeek, records: list[ApplicationRecord], today: date, lifts: bool) -> CourseRow:
    visit = turn.visit
    waits = visit.state == Visit.State.NEEDS_ACTION
    product = turn.rotation_week.product
    return CourseRow(
        turn=turn,
        mode=groups_of_contents(product) if product else "",
        sign=SIGNS.get(turn.mark, ""),
        standing=standing_of(visit, today),
        records=records,
        may_move=waits and turn.hold is None and visit.latest >= today,
        may_hold=visit.is_open() and turn.hold is None,
        may_lift=turn.hold is not None and lifts,
    )


def _records_of(visits: list[Visit]) -> dict[int, list[ApplicationRecord]]:
    found = ApplicationRecord.objects.current().filter(visits__in=visits)
    by_visit: dict[int, list[ApplicationRecord]] = {}
    for record in found.prefetch_related("visits").order_by("number"):
        for visit in record.visits.all():
            by_visit.setdefault(visit.pk, []).append(record)
    return by_visit
