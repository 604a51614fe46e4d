"""Turns local dates and hours into instants, across the changes of daylight saving time."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from treatments.rules.findings import gettext_noop


class HourDoesNotExist(ValueError):
    """The clocks skip the hour on that day."""

    sentence = gettext_noop("On %(day)s the clocks skip %(hour)s. Choose another hour.")


class HourComesTwice(ValueError):
    """The clocks show the hour twice on that day, and nobody has said which is meant."""

    sentence = gettext_noop("On %(day)s it is %(hour)s twice. Say whether the first is meant.")


def instant_of(day: date, hour: time, zone: str, *, first: bool | None = None) -> datetime:
    """Return the instant at which a place's clocks show an hour on a day.

    zone: an IANA name, such as "America/New_York"
    first: which of two is meant, where the clocks show the hour twice
    Raises HourDoesNotExist for a skipped hour, HourComesTwice where `first` is needed.

    >>> instant_of(date(2026, 6, 21), time(8), "America/New_York").isoformat()
    '2026-06-21T08:00:00-04:00'
    """
    local = datetime.combine(day, hour.replace(tzinfo=None, fold=0), ZoneInfo(zone))
    facts = {"day": day.isoformat(), "hour": f"{hour:%H:%M}"}
    if local.astimezone(UTC).astimezone(local.tzinfo).replace(tzinfo=None) != local.replace(
        tzinfo=None
    ):
        raise HourDoesNotExist(HourDoesNotExist.sentence % facts)
    if local.utcoffset() == local.replace(fold=1).utcoffset():
        return local
    if first is None:
        raise HourComesTwice(HourComesTwice.sentence % facts)
    return local.replace(fold=0 if first else 1)


def weekly_instants(start: date, hour: time, zone: str, weeks: int) -> tuple[datetime, ...]:
    """Return the instants of the same local hour week after week.

    >>> [f"{at:%z}" for at in weekly_instants(date(2026, 10, 28), time(8), "America/New_York", 2)]
    ['-0400', '-0500']
    """
    days = (start + timedelta(weeks=week) for week in range(weeks))
    return tuple(instant_of(day, hour, zone) for day in days)


def hours_after(instant: datetime, hours: Decimal) -> datetime:
    """Return the local time when so many hours have truly passed, such as a re-entry interval.

    hours: elapsed hours, which a change of the clocks neither shortens nor lengthens
    Raises ValueError where the instant has no zone.

    >>> start = instant_of(date(2026, 3, 7), time(20), "America/New_York")
    >>> f"{hours_after(start, Decimal(12)):%H:%M}"
    '09:00'
    """
    if instant.tzinfo is None:
        raise ValueError("Hours are counted from an instant with a time zone.")
    return (instant.astimezone(UTC) + timedelta(seconds=float(hours * 3600))).astimezone(
        instant.tzinfo
    )


def seconds_of_day(instant: datetime, day: date, zone: str) -> int:
    """Return what a place's clocks show at an instant, in seconds from 00:00 of a day.

    >>> at = datetime(2026, 6, 22, 0, 30, tzinfo=UTC)
    >>> seconds_of_day(at, date(2026, 6, 21), "America/New_York") // 60
    1230
    """
    local = instant.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    return int((local - datetime.combine(day, time())).total_seconds())


def changes_of_clocks(zone: str, since: datetime, until: datetime) -> list[datetime]:
    """Return the instants, in UTC, at which the clocks of a place are changed in some time.

    Found to the second; two changes within a day are not told apart.

    >>> spring = datetime(2026, 3, 1, tzinfo=UTC)
    >>> [f"{at:%m-%d %H:%M}" for at in changes_of_clocks("America/New_York", spring, spring)]
    []
    >>> autumn = datetime(2026, 12, 1, tzinfo=UTC)
    >>> [f"{at:%m-%d %H:%M}" for at in changes_of_clocks("America/New_York", spring, autumn)]
    ['03-08 07:00', '11-01 06:00']
    """
    place = ZoneInfo(zone)
    days = max((until - since).days, 0)
    found = []
    for number in range(days):
        before, after = since + timedelta(days=number), since + timedelta(days=number + 1)
        if before.astimezone(place).utcoffset() == after.astimezone(place).utcoffset():
            continue
        while after - before > timedelta(seconds=1):
            middle = before + (after - before) // 2
            same = middle.astimezone(place).utcoffset() == before.astimezone(place).utcoffset()
            before, after = (middle, after) if same else (before, middle)
        found.append(after.replace(microsecond=0))
    return found
