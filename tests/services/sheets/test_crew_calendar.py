"""A crew's calendar as other programs read it: against the rules and examples of RFC 5545.

Lines end and are folded as in section 3.1, texts are escaped as in 3.3.11, the zone is that of the
example of New York in 3.6.5 [RFC5545].  What is written is read back by the icalendar library.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest

from services.sheets.crew_calendar import CalendarEntry, crew_calendar
from services.sheets.time_zones import time_zone

NEW_YORK = ZoneInfo("America/New_York")
STARTS = datetime(2026, 7, 6, 8, tzinfo=NEW_YORK)


def entry(**changes):
    usual = {
        "uid": "visit-1-crew-2@book.example.org",
        "sequence": 3,
        "state": "NEEDS-ACTION",
        "starts_at": STARTS,
        "ends_at": STARTS + timedelta(minutes=45),
        "changed_at": datetime(2026, 7, 5, 12, tzinfo=UTC),
        "summary": "Library: Quiet Soap",
        "description": "Mites on roses, week 1.",
        "place": "2 Shelf Street, Nowhere, PA 00000",
        "point": (40.25, -74.85),
        "address": "https://book.example.org/visits/1/",
    }
    return CalendarEntry(**usual | changes)


def written(**changes):
    return crew_calendar("Crew one", [entry(**changes)]).decode()


def read(entries, **how):
    return icalendar.Calendar.from_ical(crew_calendar("Crew one", entries, **how))


def part(calendar, name):
    (found,) = calendar.walk(name)
    return found


def test_an_event_holds_what_rfc5545_asks_of_one():
    event = part(read([entry()]), "VEVENT")

    assert event["UID"] == "visit-1-crew-2@book.example.org"
    assert event["SEQUENCE"] == 3
    assert event["STATUS"] == "CONFIRMED"
    assert event.decoded("DTSTAMP") == datetime(2026, 7, 5, 12, tzinfo=UTC)
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (
        STARTS,
        STARTS + timedelta(minutes=45),
    )


def test_hours_are_told_in_the_zone_of_the_yard_and_the_zone_is_in_the_calendar_rfc5545():
    text = written()

    assert "DTSTART;TZID=America/New_York:20260706T080000" in text
    assert text.count("BEGIN:VTIMEZONE") == 1
    assert text.index("END:VTIMEZONE") < text.index("BEGIN:VEVENT")


@pytest.mark.parametrize("state", ["NEEDS-ACTION", "IN-PROCESS", "COMPLETED", "CANCELLED"])
def test_a_task_has_the_state_of_its_visit_as_rfc5545_names_it(state):
    task = part(read([entry(state=state)], as_tasks=True), "VTODO")

    assert task["STATUS"] == state
    assert task.decoded("DUE") == STARTS + timedelta(minutes=45)


def test_a_cancelled_event_says_so_rfc5545():
    assert part(read([entry(state="CANCELLED")]), "VEVENT")["STATUS"] == "CANCELLED"


def test_lines_end_and_are_folded_as_rfc5545_3_1_says():
    raw = crew_calendar("Crew one", [entry(summary="Hedge of the Ümläut Society " * 9)])

    lines = raw.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75


def test_texts_are_escaped_as_rfc5545_3_3_11_says():
    hostile = "a\\b;c,d\nEND:VCALENDAR"

    text = written(summary=hostile)

    assert "SUMMARY:a\\\\b\\;c\\,d\\nEND:VCALENDAR\r\n" in text
    assert part(read([entry(summary=hostile)]), "VEVENT")["SUMMARY"] == hostile


def test_the_clocks_of_new_york_change_as_in_the_example_of_rfc5545_3_6_5():
    zone = time_zone("America/New_York", *2 * [datetime(2007, 7, 1, tzinfo=UTC)])

    parts = [
        (
            each.name,
            f"{each.decoded('DTSTART'):%Y%m%dT%H%M%S}",
            each["TZOFFSETFROM"].to_ical(),
            each["TZOFFSETTO"].to_ical(),
            each["TZNAME"],
        )
        for each in zone.subcomponents
    ]
    # The lines of the example: since 2007 from March 11 and November 4, each at 02:00.
    assert ("DAYLIGHT", "20070311T020000", "-0500", "-0400", "EDT") in parts
    assert ("STANDARD", "20071104T020000", "-0400", "-0500", "EST") in parts


def test_a_zone_without_summer_time_has_one_time():
    zone = time_zone("America/Phoenix", STARTS, STARTS)

    assert [each.name for each in zone.subcomponents] == ["STANDARD"]


def test_a_calendar_of_nothing_is_still_a_calendar():
    assert part(read([]), "VCALENDAR")["METHOD"] == "PUBLISH"


@pytest.mark.parametrize(
    "name",
    [
        "America/Los_Angeles",
        "America/Phoenix",  # keeps one time all year
        "America/Anchorage",
        "Pacific/Honolulu",
    ],
)
@pytest.mark.parametrize(("month", "day"), [(1, 6), (3, 6), (7, 6), (10, 30)])
def test_a_calendar_tells_the_hours_of_its_zone_to_a_program_that_knows_no_zones(name, month, day):
    """The offsets are those of the time zone database, on the days about each change as well."""
    starts = datetime(2026, month, day, 8, tzinfo=ZoneInfo(name))
    hours = [
        entry(starts_at=starts + timedelta(days=n), ends_at=starts + timedelta(days=n))
        for n in range(4)
    ]

    zone = part(read(hours), "VTIMEZONE").to_tz(lookup_tzid=False)

    told = [each.starts_at.replace(tzinfo=zone).utcoffset() for each in hours]
    assert told == [each.starts_at.utcoffset() for each in hours]
