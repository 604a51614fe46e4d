"""The week as its page shows it: the visits that may go, by the week of their rotation."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q, QuerySet

from clients.loaded import all_of, note
from clients.models import Client, Planting, Property
from services.courses.weeks import Mark, day_of, mark_of
from services.dispatching.crews import crews_at_work
from services.dispatching.obstacles import products_of, said_by, what_is_known
from services.dispatching.reading import loaded_together, today_at_yard
from services.dispatching.store import free_stock
from services.dispatching.takes import Takes, takes_by_visit
from services.models import Crew, Visit
from treatments.rules.facts import LotFacts
from treatments.rules.findings import Finding, Severity


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A visit of the week: its days, its mark, and what stands in its way.

    weeks: how many weeks its rotation has
    """

    visit: Visit
    client: Client
    property: Property
    plantings: tuple[Planting, ...]
    week: int
    weeks: int
    earliest: date
    planned: date
    latest: date
    day: date
    mark: Mark
    is_late: bool
    findings: tuple[Finding, ...]

    def may_be_dispatched(self) -> bool:
        """Say whether the visit is to be made, has no crew, and nothing refuses it."""
        refused = any(finding.severity is Severity.REFUSAL for finding in self.findings)
        return self.mark is Mark.PLANNED and not refused


@dataclass(frozen=True, slots=True)
class WeekGroup:
    """The rows that are in the same week of their rotations."""

    week: int
    rows: tuple[WeekRow, ...]


@dataclass(frozen=True, slots=True)
class WeekRead:
    """A week with what its visits take, and what was read beside them.

    takes: by the id of the visit, of those read beside too
    lots: what is free of all that they take
    """

    groups: list[WeekGroup]
    takes: Mapping[int, Takes]
    lots: tuple[LotFacts, ...]


def week_of(
    monday: date,
    *,
    user,
    week: int | None = None,
    crew: Crew | None = None,
    today: date | None = None,
) -> list[WeekGroup]:
    """Return the visits of a week by the week of their rotation, in a fixed number of queries.

    They are the open ones that have an allowed day in it or are late, and those made in it.
    week, crew: only visits in this week of their rotation, only those on the routes of this crew
    today: from which a visit is late; the yard's date when it is not given
    """
    today = today or today_at_yard()
    return read_week(monday, crews_at_work(), today, user=user, week=week, crew=crew).groups


def read_week(
    monday: date,
    crews: Sequence[Crew],
    today: date,
    *,
    user,
    week: int | None = None,
    crew: Crew | None = None,
    beside: Set[int] = frozenset(),
) -> WeekRead:
    """Return a week as `week_of` does, and with it what it takes and what is free of that.

    crews: those at work
    beside: the ids of visits of which it is told what they take as well
    """
    visits, others = loaded_together(_visits(monday, user, today, week, crew), beside)
    note({visit.course.rotation for visit in visits}, "weeks")
    known = what_is_known(visits, today, crews)
    takes = {**known.takes, **takes_by_visit(others, crews, today)}
    lots = free_stock(today, products_of(takes.values())).lots
    findings = said_by(known, visits, lots)
    groups: dict[int, list[WeekRow]] = defaultdict(list)
    for visit in visits:
        groups[visit.week].append(_row(visit, findings[visit.pk], today))
    rows = [WeekGroup(number, _ordered(groups[number])) for number in sorted(groups)]
    return WeekRead(rows, takes, lots)


def _visits(
    monday: date, user, today: date, week: int | None, crew: Crew | None
) -> QuerySet[Visit]:
    """Return the visits of a week."""
    sunday = monday + timedelta(days=6)
    open_states = [Visit.State.NEEDS_ACTION, Visit.State.IN_PROCESS]
    is_open = Q(state__in=open_states)
    in_days = Q(earliest__lte=sunday, latest__gte=monday)
    on_route = Q(dispatch__day__range=(monday, sunday))
    is_late = Q(latest__lt=today) if monday <= today <= sunday else Q(pk__in=[])
    was_made = Q(state=Visit.State.COMPLETED, planned__range=(monday, sunday))
    # Each way asked by itself, so that an index leads to its visits.
    ways = (is_open & (in_days | is_late), is_open & on_route, was_made)
    first, *others = [Visit.objects.filter(way).order_by().values("pk") for way in ways]
    visits = Visit.objects.for_user(user).filter(pk__in=first.union(*others))
    if week is not None:
        visits = visits.filter(rotation_week__week=week)
    if crew is not None:
        visits = visits.filter(dispatch__crew=crew)
    return visits


def _row(visit: Visit, findings: Iterable[Finding], today: date) -> WeekRow:
    course = visit.course
    return WeekRow(
        visit=visit,
        client=course.property.client,
        property=course.property,
        plantings=tuple(all_of(course, "plantings")),
        week=visit.week,
        weeks=len(all_of(course.rotation, "weeks")),
        earliest=visit.earliest,
        planned=visit.planned,
        latest=visit.latest,
        day=day_of(visit),
        mark=mark_of(visit),
        is_late=visit.is_late_on(today),
        findings=tuple(findings),
    )


def _ordered(rows: Iterable[WeekRow]) -> tuple[WeekRow, ...]:
    return tuple(sorted(rows, key=lambda row: (row.day, row.client.name, row.visit.pk)))
