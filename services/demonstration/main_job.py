"""The main job: composes a rotation, puts it on, dispatches week three and records a day."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from services.courses import put_on
from services.demonstration.places import planting_of
from services.demonstration.reading import Days, moment, read
from services.demonstration.rotations import compose_for_today
from services.demonstration.season import Season, planned_courses, tell_by_telephone
from services.dispatching import DayPlan, dispatch_week
from services.holding import hold_visit
from services.models import Course, Dispatch, Hold, Visit

THIRD = 3


def put_composed_on(days: Days, by: Any, composer: Any) -> Course:
    """Compose the rotation against two-spotted mite and put it on its planting.

    composer: somebody with a certificate
    """
    row = read("rotations")["composed"]
    rotation = compose_for_today(days.today, composer)
    return put_on(
        rotation=rotation,
        plantings=[planting_of(row["property"], row["planting"])],
        first_day=days.today,
        by=by,
        today=days.today,
        at=moment(days.today, 6),
    )[0]


def hold_for_wind(season: Season) -> Hold:
    """Put one visit of the week off before it is dispatched."""
    row = read("season")["hold"]
    visit = Visit.objects.get(
        course__property__name=row["property"],
        course__rotation=season.rotations[row["rotation"]],
        rotation_week__week=THIRD,
    )
    return hold_visit(
        visit,
        reason=Hold.Reason(row["reason"]),
        note=row["note"],
        by=season.by,
        at=moment(season.days.monday, 5),
    )


def dispatch_week_three(days: Days, by: Any) -> list[DayPlan]:
    """Give week three of every course that is in its third week to the crews."""
    sunday = days.monday + timedelta(days=6)
    behind = Visit.objects.open().filter(rotation_week__week__lt=THIRD).values("course")
    visits = Visit.objects.open().planned_in(days.monday, sunday).exclude(course__in=behind)
    third = visits.filter(rotation_week__week=THIRD)
    told = third.filter(planned=days.monday).with_all_that_is_shown()
    tell_by_telephone(told, days.monday, by)
    chosen = third.values_list("pk", flat=True)
    return dispatch_week(
        monday=days.monday, visit_ids=list(chosen), by=by, now=moment(days.monday, 5, 30)
    )


def make_week(season: Season, each: Callable[[date], None]) -> date:
    """Make what was dispatched until yesterday, on a Monday that day's; return the last day."""
    days = season.days
    if days.today == days.monday:
        season.make_dispatched(days.monday)
        return days.monday
    for number in range((days.today - days.monday).days):
        season.pass_day(days.from_monday(number))
        each(days.from_monday(number))
    return days.from_today(-1)


def begin_todays(season: Season) -> None:
    """Put on the courses that begin today or in the next days."""
    for course in planned_courses(season.days):
        if course.first_day >= season.days.today:
            season.begin(course, season.days.today)


def dispatched_monday() -> date:
    """Return the Monday of the week that the main job dispatched."""
    day = Dispatch.objects.latest("day").day
    return day - timedelta(days=day.weekday())
