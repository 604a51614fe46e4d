"""Makes up courses with their visits, and what was applied on them."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from random import Random

from clients.models import Planting, Property
from services.demonstration.reading import moment
from services.generating.terms import Terms
from services.models import Course, Visit
from treatments.models import Applicator, Rotation, RotationWeek

LOOKED_AT = 64  # properties read at once
MADE = 0.96  # share of past visits that were made; the others were cancelled
WORKED = 0.85  # share of finished courses that worked


@dataclass(slots=True)
class Applied:
    """One product on one planting at one visit."""

    visit: Visit
    planting: Planting
    rotation: Rotation
    week: RotationWeek
    by: Applicator
    started_at: datetime
    done_at: datetime


@dataclass(slots=True)
class Made:
    """The courses of a batch, not kept yet, with their visits and what was applied."""

    courses: list[tuple[Course, list[Planting]]] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    applied: list[Applied] = field(default_factory=list)


def make_courses(terms: Terms, batch: int, applications: int, chance: Random) -> Made:
    """Return courses that together hold exactly so many applications; the last is cut short."""
    made = Made()
    days = terms.days_of(batch)
    known = set(
        Course.objects.filter(first_day__in=days).values_list(
            "property_id", "rotation_id", "first_day"
        )
    )
    for place in _chosen(terms, chance):
        rotation, plantings = _fitting(terms, place, chance)
        first_day = chance.choice(days)
        if rotation is None or (key := (place.pk, rotation.pk, first_day)) in known:
            continue
        known.add(key)
        course = Course(property=place, rotation=rotation, first_day=first_day)
        course.started_at = moment(first_day - timedelta(days=3), 8)
        made.courses.append((course, plantings))
        _make_visits(terms, made, applications, chance)
        if len(made.applied) == applications:
            break
    return made


def _chosen(terms: Terms, chance: Random) -> Iterator[Property]:
    """Yield properties by chance without end, some of them far more often than others."""
    keys = terms.properties
    while True:
        picked = [keys[int(len(keys) * chance.random() ** 1.5)] for _ in range(LOOKED_AT)]
        found = (
            Property.objects.select_related("client").prefetch_related("plantings").in_bulk(picked)
        )
        yield from (found[key] for key in picked)


def _fitting(
    terms: Terms, place: Property, chance: Random
) -> tuple[Rotation | None, list[Planting]]:
    """Return a rotation for some plantings of a property; None where there is nothing for it."""
    beds = list(place.plantings.all())
    named = {bed.common_name for bed in beds}
    rotations = [each for each in terms.rotations if each[1] & named]
    if not rotations:
        return None, []
    rotation, plants = chance.choice(rotations)
    return rotation, [bed for bed in beds if bed.common_name in plants]


def _make_visits(terms: Terms, made: Made, most: int, chance: Random) -> None:
    course, plantings = made.courses[-1]
    by, planned = chance.choice(terms.applicators), course.first_day
    course.started_by = by.user
    for week in course.rotation.weeks.all():
        visit = _visit(course, week, planned)
        planned = visit.planned
        made.visits.append(visit)
        if planned >= terms.wanted.today:
            continue
        if len(made.applied) == most or chance.random() > MADE:
            visit.state = Visit.State.CANCELLED
            continue
        started = moment(
            planned, 19 if week.at_dusk else chance.randint(7, 14), chance.randint(0, 59)
        )
        visit.started_at, done_at = started, started
        for planting in plantings if week.product_id else []:
            if len(made.applied) == most:
                break
            done_at = started + timedelta(minutes=chance.randint(8, 40))
            told = Applied(visit, planting, course.rotation, week, by, started, done_at)
            made.applied.append(told)
            started = done_at + timedelta(minutes=5)
        visit.state = Visit.State.COMPLETED
        visit.completed_at = done_at + timedelta(minutes=5)
    if planned < terms.wanted.today:
        _end(course, planned, chance)


def _visit(course: Course, week: RotationWeek, before: date) -> Visit:
    """Return the visit of a week, planned after the one before; the first on the first day."""
    first = week.week == 1
    earliest, planned, latest = (
        before + timedelta(days=0 if first else days)
        for days in (week.minimum_days, week.planned_days, week.maximum_days)
    )
    return Visit(
        course=course, rotation_week=week, earliest=earliest, planned=planned, latest=latest
    )


def _end(course: Course, day: date, chance: Random) -> None:
    outcomes = [Course.Outcome.FAILED, Course.Outcome.STOPPED]
    course.outcome = Course.Outcome.WORKED if chance.random() < WORKED else chance.choice(outcomes)
    course.ended_at = moment(day, 17)
    course.outcome_note = "Invented."
