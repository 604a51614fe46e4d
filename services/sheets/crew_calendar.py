"""A crew's visits as iCalendar, for calendar and to-do programs [RFC5545] [RFC7986]."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from icalendar import Calendar, Component, Event, Timezone, Todo, vText

from services.sheets.time_zones import time_zone

PRODUCT = "-//Duskbook//calendar of a crew//EN"
LOOK_AGAIN = timedelta(hours=1)
CANCELLED, COMPLETED = "CANCELLED", "COMPLETED"


@dataclass(frozen=True, slots=True)
class CalendarEntry:
    """A visit in a calendar; its hours carry the zone in which they are read.

    uid: the same for as long as it is the same visit
    sequence: higher with each change
    state: one of a to-do of RFC 5545: NEEDS-ACTION, IN-PROCESS, COMPLETED, CANCELLED
    changed_at: in UTC
    """

    uid: str
    sequence: int
    state: str
    starts_at: datetime
    ends_at: datetime
    changed_at: datetime
    summary: str
    description: str
    place: str
    point: tuple[float, float]
    address: str


def crew_calendar(name: str, entries: Sequence[CalendarEntry], *, as_tasks: bool = False) -> bytes:
    """Return a calendar of entries, as events or as to-dos, with the time zones they need."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", vText(name))
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"VALUE": "DURATION"})
    for zone in _zones(entries):
        calendar.add_component(zone)
    for entry in entries:
        calendar.add_component(_task(entry) if as_tasks else _event(entry))
    return calendar.to_ical()


def _zones(entries: Sequence[CalendarEntry]) -> Iterable[Timezone]:
    for name in sorted({str(entry.starts_at.tzinfo) for entry in entries}):
        hours = [each for entry in entries for each in (entry.starts_at, entry.ends_at)]
        yield time_zone(name, min(hours), max(hours))


def _event(entry: CalendarEntry) -> Event:
    event = Event()
    _describe(event, entry)
    event.add("dtend", entry.ends_at)
    event.add("status", CANCELLED if entry.state == CANCELLED else "CONFIRMED")
    event.add("transp", "OPAQUE")
    return event


def _task(entry: CalendarEntry) -> Todo:
    task = Todo()
    _describe(task, entry)
    task.add("due", entry.ends_at)
    task.add("status", entry.state)
    if entry.state == COMPLETED:
        task.add("percent-complete", 100)
    return task


def _describe(component: Component, entry: CalendarEntry) -> None:
    component.add("uid", entry.uid)
    component.add("dtstamp", entry.changed_at)
    component.add("last-modified", entry.changed_at)
    component.add("sequence", entry.sequence)
    component.add("dtstart", entry.starts_at)
    component.add("summary", entry.summary)
    component.add("description", entry.description)
    component.add("location", entry.place)
    component.add("geo", entry.point)
    component.add("url", entry.address)
