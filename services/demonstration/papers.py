"""Writes what the main job gave: the papers as PDF, and the dispatch as JSON."""

import json
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from services.demonstration.main_job import dispatched_monday
from services.demonstration.reading import moment
from services.dispatching import DayPlan, LeftOutVisit, dispatch_facts, dispatches_of
from services.models import Dispatch, Visit
from services.printing import records_pdf, summaries_pdf, visit_sheets_pdf
from services.showing.obstacles import finding_left_out
from treatments.models import ApplicationRecord

LANGUAGE = "en"


def write_papers(folder: Path) -> list[Path]:
    """Write all files into a folder and return their paths; the same book gives the same bytes."""
    monday = dispatched_monday()
    folder.mkdir(parents=True, exist_ok=True)
    contents = {
        "visit-sheets.pdf": visit_sheets(monday),
        "application-records.pdf": application_records(monday),
        "client-summaries.pdf": client_summaries(monday),
        "dispatch.json": dispatch_json(monday),
    }
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    return [folder / name for name in contents]


def visit_sheets(monday: date) -> bytes:
    """Return the sheets of all crews for the dispatched week."""
    dispatches = Dispatch.objects.filter(day__range=_week(monday)).order_by("day", "crew__name")
    return visit_sheets_pdf(dispatches, language=LANGUAGE, now=moment(monday, 5, 30))


def application_records(monday: date) -> bytes:
    """Return the records of the last day that was recorded."""
    day = last_day_made(monday)
    visits = _made_on(day)
    records = ApplicationRecord.objects.filter(visits__in=visits).order_by("number")
    return records_pdf(records, language=LANGUAGE, now=moment(day, 22))


def client_summaries(monday: date) -> bytes:
    """Return the letters of the last day that was recorded, each in its reader's language."""
    day = last_day_made(monday)
    return summaries_pdf(_made_on(day), language=LANGUAGE, now=moment(day, 22))


def dispatch_json(monday: date) -> bytes:
    """Return crews, order, hours, loads and reasons of the week as JSON."""
    facts = [dispatch_facts(plan) for plan in plans_of(monday)]
    told = {"week": monday.isoformat(), "days": facts}
    return json.dumps(told, indent=2, ensure_ascii=False, sort_keys=True).encode()


def plans_of(monday: date) -> Iterator[DayPlan]:
    """Yield the days of the week that have a crew or somebody without one."""
    for number in range(7):
        day = monday + timedelta(days=number)
        plan = DayPlan(day, dispatches_of(day), tuple(_left_out(day)), is_changed=False)
        if plan.dispatches or plan.left_out:
            yield plan


def _left_out(day: date) -> Iterator[LeftOutVisit]:
    visits = Visit.objects.filter(planned=day, dispatch=None).open()
    for visit in visits.with_all_that_is_shown().order_by("pk"):
        if reason := finding_left_out(visit):
            yield LeftOutVisit(visit, reason)


def last_day_made(monday: date) -> date:
    """Return the last day of the week on which a dispatched visit was made, or the Monday."""
    made = Dispatch.objects.filter(
        day__range=_week(monday), visits__state=Visit.State.COMPLETED
    ).order_by("-day")
    return made.values_list("day", flat=True).first() or monday


def _made_on(day: date) -> list[Visit]:
    made = Visit.objects.filter(dispatch__day=day, state=Visit.State.COMPLETED)
    return list(made.with_all_that_is_shown().order_by("completed_at", "pk"))


def _week(monday: date) -> tuple[date, date]:
    return monday, monday + timedelta(days=6)
