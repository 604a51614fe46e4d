"""The days of a course: when each week's visit is due, and what moves when one slips."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from treatments.rules.findings import Finding, Severity, gettext_noop

SUNDAY = 6
EVERY_WEEKDAY = frozenset(range(7))


class ImpossibleStep(ValueError):
    """The days of a step contradict each other."""


@dataclass(frozen=True, slots=True)
class Step:
    """One week of a rotation: how many days after the visit before it may and should come.

    product: what is applied, so that the label's interval counts from its own last use
    label_interval_days: the least days the label asks between two applications of the product
    """

    week: int
    product: str = ""
    minimum_days: int = 5
    maximum_days: int = 9
    planned_days: int = 7
    label_interval_days: int | None = None
    at_dusk: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.minimum_days <= self.planned_days <= self.maximum_days:
            raise ImpossibleStep(
                "The planned days lie between the least and the most, which are 1 or more."
            )


@dataclass(frozen=True, slots=True)
class WorkingDays:
    """Which days a visit may be planned on, weekdays counted from Monday = 0.

    access_weekdays: the weekdays on which the property lets the crew in; preferred, not required
    """

    closed_weekdays: frozenset[int] = frozenset({SUNDAY})
    closed_dates: frozenset[date] = frozenset()
    access_weekdays: frozenset[int] = EVERY_WEEKDAY

    def are_open(self, day: date) -> bool:
        """Say whether crews work on a day."""
        return day.weekday() not in self.closed_weekdays and day not in self.closed_dates

    def let_in(self, day: date) -> bool:
        """Say whether crews work and the property lets them in on a day."""
        return self.are_open(day) and day.weekday() in self.access_weekdays


USUAL_DAYS = WorkingDays()


@dataclass(frozen=True, slots=True)
class PlannedVisit:
    """A week's visit: the first and the last day it may be on, and the day it is planned for."""

    week: int
    earliest: date
    planned: date
    latest: date
    at_dusk: bool = False
    findings: tuple[Finding, ...] = ()


def course_days(
    start: date, steps: Sequence[Step], working: WorkingDays = USUAL_DAYS
) -> tuple[PlannedVisit, ...]:
    """Return the visits of a course, each counted from the planned day of the one before.

    start: the first day on which the first visit may be

    >>> days = course_days(date(2026, 6, 1), [Step(1), Step(2), Step(3)])
    >>> [f"{visit.planned:%a %d %b}" for visit in days]
    ['Mon 01 Jun', 'Mon 08 Jun', 'Mon 15 Jun']
    """
    if not steps:
        return ()
    first = _first_visit(start, steps[0], working)
    return _followed([first], steps, working)


def next_window(
    previous_done: date,
    step: Step,
    working: WorkingDays = USUAL_DAYS,
    *,
    last_of_product: date | None = None,
) -> PlannedVisit:
    """Return when the next visit is due after one that was done.

    last_of_product: the day on which the step's product was last applied there; without it the
        label's interval is counted from the visit before, which never asks too little

    >>> visit = next_window(date(2026, 6, 1), Step(2, label_interval_days=7))
    >>> visit.earliest.day, visit.planned.day, visit.latest.day
    (8, 8, 10)
    """
    earliest = previous_done + timedelta(days=step.minimum_days)
    latest = previous_done + timedelta(days=step.maximum_days)
    target = previous_done + timedelta(days=step.planned_days)
    lawful = _lawful_from(last_of_product or previous_done, step)
    findings: tuple[Finding, ...] = ()
    if lawful and lawful > latest:
        findings = (_label_is_later(step, lawful, latest),)
        latest = _first_open(lawful, working)
    earliest = max(earliest, lawful or earliest)
    return _planned(step, earliest, target, latest, working, findings)


def shift_after_hold(
    visits: Sequence[PlannedVisit],
    steps: Sequence[Step],
    week: int,
    not_before: date,
    working: WorkingDays = USUAL_DAYS,
) -> tuple[PlannedVisit, ...]:
    """Return a course in which a held week waits until a day, and the weeks after it follow.

    Weeks before the held one stay as they are.  A visit pushed past its latest day is kept, on the
    first day that is open, and says that it is late.  Raises ValueError for a week the course does
    not have.

    >>> steps = [Step(1), Step(2), Step(3)]
    >>> days = course_days(date(2026, 6, 1), steps)
    >>> moved = shift_after_hold(days, steps, 2, date(2026, 6, 10))
    >>> [visit.planned.day for visit in moved]
    [1, 10, 17]
    """
    held = [visit.week for visit in visits].index(week)
    moved = _pushed(visits[held], not_before, working)
    return _followed([*visits[:held], moved], steps, working)


def preferred_day(earliest: date, target: date, latest: date, working: WorkingDays) -> date | None:
    """Return the day nearest to the target on which the property lets the crew in.

    Failing that, the nearest day on which crews work; failing that, None.  Of two days equally
    near the earlier is taken, so that pests gain no time.

    >>> preferred_day(date(2026, 6, 5), date(2026, 6, 7), date(2026, 6, 9), USUAL_DAYS).day
    6
    """
    days = _days_between(earliest, latest)
    open_days = [day for day in days if working.let_in(day)] or [
        day for day in days if working.are_open(day)
    ]
    return min(open_days, key=lambda day: (abs(day - target), day), default=None)


def _first_visit(start: date, step: Step, working: WorkingDays) -> PlannedVisit:
    latest = start + timedelta(days=step.maximum_days - step.minimum_days)
    return _planned(step, start, start, latest, working)


def _followed(
    visits: list[PlannedVisit], steps: Sequence[Step], working: WorkingDays
) -> tuple[PlannedVisit, ...]:
    for place in range(len(visits), len(steps)):
        step, earlier = steps[place], zip(visits, steps, strict=False)
        uses = [visit.planned for visit, past in earlier if past.product == step.product]
        if not uses:
            step = replace(step, label_interval_days=None)
        last = uses[-1] if uses else None
        visits.append(next_window(visits[-1].planned, step, working, last_of_product=last))
    return tuple(visits)


def _planned(
    step: Step,
    earliest: date,
    target: date,
    latest: date,
    working: WorkingDays,
    findings: Iterable[Finding] = (),
) -> PlannedVisit:
    planned = preferred_day(earliest, target, latest, working)
    if planned is None:
        planned = min(max(target, earliest), latest)
        findings = (*findings, _all_closed(step.week, earliest, latest))
    return PlannedVisit(step.week, earliest, planned, latest, step.at_dusk, tuple(findings))


def _pushed(visit: PlannedVisit, not_before: date, working: WorkingDays) -> PlannedVisit:
    earliest = max(visit.earliest, not_before)
    planned = preferred_day(earliest, max(visit.planned, earliest), visit.latest, working)
    if planned is not None:
        return replace(visit, earliest=earliest, planned=planned)
    late = _first_open(earliest, working)
    finding = _is_late(visit, late)
    return replace(
        visit, earliest=earliest, planned=late, latest=late, findings=(*visit.findings, finding)
    )


def _first_open(day: date, working: WorkingDays) -> date:
    return preferred_day(day, day, day + timedelta(days=13), working) or day


def _lawful_from(last_of_product: date, step: Step) -> date | None:
    if step.label_interval_days is None:
        return None
    return last_of_product + timedelta(days=step.label_interval_days)


def _days_between(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def _label_is_later(step: Step, lawful: date, latest: date) -> Finding:
    return Finding(
        code="label-interval-beyond-window",
        severity=Severity.WARNING,
        sentence=gettext_noop(
            "The label asks %(days)s days between applications, so week %(week)s cannot come "
            "before %(lawful)s; the rotation wanted it by %(latest)s."
        ),
        remedy=gettext_noop("Take another product in this week, or give the rotation more days."),
        facts={
            "days": step.label_interval_days,
            "week": step.week,
            "lawful": lawful,
            "latest": latest,
        },
        week=step.week,
    )


def _all_closed(week: int, earliest: date, latest: date) -> Finding:
    return Finding(
        code="all-days-closed",
        severity=Severity.WARNING,
        sentence=gettext_noop(
            "No crew works from %(earliest)s to %(latest)s, the days of week %(week)s."
        ),
        remedy=gettext_noop("Open one of these days, or move the visit before it."),
        facts={"week": week, "earliest": earliest, "latest": latest},
        source="common practice",
        week=week,
    )


def _is_late(visit: PlannedVisit, day: date) -> Finding:
    return Finding(
        code="past-latest-day",
        severity=Severity.WARNING,
        sentence=gettext_noop(
            "Week %(week)s is now planned for %(day)s; its latest day was %(latest)s."
        ),
        remedy=gettext_noop("Count the pest again before going on with the rotation."),
        facts={"week": visit.week, "day": day, "latest": visit.latest},
        source="common practice",
        week=visit.week,
    )
