"""Lets a spring and a summer pass, day after day, through the same actions that the pages call."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from services.courses import end_course, put_on
from services.demonstration.counts import count_before
from services.demonstration.places import planting_of
from services.demonstration.reading import Days, moment, read
from services.demonstration.store import first_arrival, keep_store
from services.demonstration.visits import hours_of, make_visit
from services.demonstration.yard import keep_shifts
from services.dispatching import dispatch_day
from services.models import ContactAttempt, Course, Visit
from services.telling import log_contact, people_to_tell
from treatments.models import ApplicationRecord, Rotation
from treatments.posting import signs_standing, take_down
from treatments.recording import amend_application

GROUPS = {  # of season.toml: the day from which they count, and how their courses come out
    "past": ("monday", Course.Outcome.WORKED),
    "failed": ("monday", Course.Outcome.FAILED),
    "third_week": ("monday", Course.Outcome.OPEN),
    "first_week": ("today", Course.Outcome.OPEN),
    "second_week": ("today", Course.Outcome.OPEN),
    "fifth_week": ("today", Course.Outcome.OPEN),
    "late": ("today", Course.Outcome.OPEN),
}


@dataclass(frozen=True, slots=True)
class PlannedCourse:
    """A course of the season as the data tells it."""

    rotation: str
    place: str
    plantings: tuple[str, ...]
    first_day: date
    counts: tuple[float, ...]
    outcome: Course.Outcome
    group: str


@dataclass(slots=True)
class Season:
    """The season while it passes: who keeps the book, and the courses that were put on."""

    days: Days
    by: Any
    rotations: Mapping[str, Rotation]
    courses: dict[int, PlannedCourse] = field(default_factory=dict)
    to_amend: list[tuple[Visit, Mapping[str, Any]]] = field(default_factory=list)

    def pass_days(self, each: Callable[[date], None]) -> None:
        """Let the days pass until the Monday that is dispatched; `each` is called after one."""
        for day in season_days(self.days):
            keep_shifts(day)
            self.pass_day(day, sends_out=True)
            each(day)
        keep_shifts(self.days.today)

    def pass_day(self, day: date, *, sends_out: bool = False) -> None:
        """Keep the store, put courses on, make the visits and amend what was wrong, on a day.

        sends_out: whether crews are sent to the visits of the day first
        """
        keep_store(day, self.days, self.by)
        for course in planned_courses(self.days):
            if course.first_day == day:
                self.begin(course, day)
        for visit, row in self.to_amend:
            amend(visit, row, day)
        self.to_amend.clear()
        take_signs_down(day, self.by)
        due = self._due(day)
        if due and sends_out:
            self.send_out(due, day)
            due = self._due(day)
        for visit in due:
            self.make(visit)

    def send_out(self, due: list[Visit], day: date) -> None:
        """Tell everybody the day before, and send crews to what is due on a day.

        What finds no room on a short evening is made all the same, without a route.
        """
        tell_by_telephone(due, day, self.by)
        plan = dispatch_day(day=day, visits=due, by=self.by, now=moment(day, 5, 30))
        left = [each.visit.pk for each in plan.left_out]
        Visit.objects.filter(pk__in=left).update(left_out={})

    def make_dispatched(self, day: date) -> None:
        """Make what crews were sent to on a day."""
        for visit in self._due(day):
            if visit.dispatch is not None:
                self.make(visit)

    def begin(self, course: PlannedCourse, day: date) -> None:
        """Put a course on, on the day it begins or today when that is still to come."""
        begun = put_on(
            rotation=self.rotations[course.rotation],
            plantings=[planting_of(course.place, name) for name in course.plantings],
            first_day=course.first_day,
            by=self.by,
            today=day,
            at=moment(day, 6),
        )
        self.courses |= {each.pk: course for each in begun}

    def make(self, visit: Visit) -> None:
        """Count and make a visit, and end its course when it was the last."""
        told = self.courses[visit.course_id]
        if visit.week <= len(told.counts):
            count_before(visit, told.counts[visit.week - 1], self.by)
        make_visit(visit)
        self.to_amend += [(visit, row) for row in read("season")["amendments"] if is_of(visit, row)]
        if visit.week == len(visit.course.rotation.weeks.all()) and told.outcome:
            self._end(visit, told)

    def _end(self, visit: Visit, told: PlannedCourse) -> None:
        season = read("season")
        has_failed = told.outcome == Course.Outcome.FAILED
        end_course(
            visit.course,
            outcome=told.outcome,
            by=self.by,
            at=moment(visit.planned, 18),
            note=season["failed_note"] if has_failed else season["worked_note"],
        )

    def _due(self, day: date) -> list[Visit]:
        """Return the visits planned for a day that are made on it, in the order of their hours."""
        visits = Visit.objects.filter(planned=day, state=Visit.State.NEEDS_ACTION)
        made = [each for each in visits.with_all_that_is_shown() if not self._is_missed(each)]
        return sorted(made, key=lambda visit: (hours_of(visit)[1], visit.pk))

    def _is_missed(self, visit: Visit) -> bool:
        """Say whether a visit is not made: held, left without a crew, or forgotten."""
        if visit.open_hold() or visit.left_out:
            return True
        group = self.courses[visit.course_id].group
        return group == "late" and visit.week >= read("season")["late_from_week"]


def take_signs_down(day: date, by: Any) -> None:
    """Let crews take down each sign on the second morning after its time."""
    morning = moment(day, 7)
    for sign in signs_standing(ApplicationRecord.objects.all(), morning):
        if sign.may_come_down_at(morning - timedelta(days=1)):
            take_down(sign.record, by=sign.record.recorded_by or by, at=morning)


def tell_by_telephone(visits: Iterable[Visit], day: date, by: Any) -> None:
    """Write down that everybody was told of the visits of a day, the morning before."""
    for visit in visits:
        for reader in people_to_tell(visit):
            log_contact(
                visit,
                reader,
                way=ContactAttempt.Way.TELEPHONE,
                outcome=ContactAttempt.Outcome.TOLD,
                at=moment(day - timedelta(days=1), 10),
                by=by,
                form_id=uuid5(NAMESPACE_OID, reader.key),
                now=moment(day, 5),
            )


def is_of(visit: Visit, row: Mapping[str, Any]) -> bool:
    """Say whether an amendment of the data is of a visit."""
    names = [planting.name for planting in visit.course.plantings.all()]
    asked = (row["property"], [row["planting"]], row["week"])
    return asked == (visit.course.property.name, names, visit.week)


def amend(visit: Visit, row: Mapping[str, Any], day: date) -> None:
    """Amend the record of a visit the day after, by who applied, as the data says."""
    record = visit.records.get()
    by = record.applicator.user
    changes: dict[str, Any] = {}
    if "wind_mph" in row:
        changes["wind_mph"] = Decimal(row["wind_mph"])
    if "plants" in row:
        changes["plants"] = row["plants"]
    if "minutes_later" in row:
        changes["done_at"] = record.done_at + timedelta(minutes=row["minutes_later"])
    at = moment(day, 6, 15)
    amend_application(record, reason=row["reason"], by=by, captured_at=at, now=at, **changes)


def planned_courses(days: Days) -> Iterable[PlannedCourse]:
    """Return the courses of the season with their first days."""
    season = read("season")
    return [
        PlannedCourse(
            rotation=rotation,
            place=place,
            plantings=tuple(plantings),
            first_day=days.from_monday(offset) if base == "monday" else days.from_today(offset),
            counts=tuple(counts),
            outcome=outcome,
            group=group,
        )
        for group, (base, outcome) in GROUPS.items()
        for rotation, place, plantings, offset, counts in season[group]
    ]


def season_days(days: Days) -> list[date]:
    """Return the days that pass before the Monday, from the first lot that came."""
    first = first_arrival(days)
    return [first + timedelta(days=number) for number in range((days.monday - first).days)]
