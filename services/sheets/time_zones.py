"""Time zones as a calendar has to carry them: each change of the clocks in its time [RFC5545].

The calendar library lists changes of half a century and takes the hour after the clocks went
forward for the hour before, which section 3.6.5 asks for; so this is our own.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

from services.rules.local_time import changes_of_clocks

MARGIN = timedelta(days=366)  # about the entries, so that each lies within a time of the zone


def time_zone(name: str, first: datetime, last: datetime) -> Timezone:
    """Return a zone with what its clocks show from before the first instant to after the last."""
    since = (first - MARGIN).astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    zone = Timezone()
    zone.add("tzid", name)
    for change in [since, *changes_of_clocks(name, since, last + MARGIN)]:
        zone.add_component(_time_from(change, ZoneInfo(name), is_first=change == since))
    return zone


def _time_from(
    change: datetime, place: ZoneInfo, *, is_first: bool
) -> TimezoneStandard | TimezoneDaylight:
    """Return the time that holds from a change on, which is told by the clock before it."""
    after = change.astimezone(place)
    before = after if is_first else (change - timedelta(seconds=1)).astimezone(place)
    offset = before.utcoffset() or timedelta(0)
    part = TimezoneDaylight() if after.dst() else TimezoneStandard()
    part.add("dtstart", (change + offset).replace(tzinfo=None))
    part.add("tzoffsetfrom", offset)
    part.add("tzoffsetto", after.utcoffset() or timedelta(0))
    part.add("tzname", after.tzname() or "")
    return part
