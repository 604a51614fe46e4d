"""The hours of a day in which a visit may be made: access, dusk, and the light of the day."""

from collections.abc import Iterable
from datetime import date, datetime

from clients.loaded import all_of
from clients.models import Property
from services.models import Visit
from treatments.rules.daylight import (
    Place,
    SprayWindow,
    civil_dawn,
    civil_dusk,
    dusk_window,
    morning_window,
)
from treatments.rules.facts import BloomRule
from treatments.rules.findings import Finding, Severity, gettext_noop

Hours = tuple[datetime, datetime]


class NoHours(ValueError):
    """There is no hour of the day at which the visit may be made; `finding` says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.say())
        self.finding = finding


def spray_window(visit: Visit, day: date) -> Hours:
    """Return the first hours of a day in which a visit may be made; raise NoHours."""
    return spray_windows(visit, day)[0]


def spray_windows(visit: Visit, day: date) -> list[Hours]:
    """Return all hours of a day in which a visit may be made, in order; raise NoHours.

    A visit at dusk falls into the early morning where the property is closed at dusk.
    """
    place = visit.course.property
    access = access_hours(place, day)
    if not access:
        raise NoHours(_closed(place, day))
    if not is_at_dusk(visit, day):
        return _within(access, [by_daylight(place, day)]) or _refuse(_dark(place, day))
    evening, morning = (find(place_of(place), day) for find in (dusk_window, morning_window))
    hours = _within(access, _open(evening)) or _within(access, _open(morning))
    return hours or _refuse(evening.missing or _closed_at_dusk(place, day, evening))


def is_at_dusk(visit: Visit, day: date) -> bool:
    """Say whether a visit must wait for dusk: its week says so, or bees forage and the label minds.

    Reads the plantings of the course, which may be prefetched.
    """
    week = visit.rotation_week
    if week.at_dusk:
        return True
    if week.product is None or week.product.bloom_rule != BloomRule.NOT_WHILE_FORAGING:
        return False
    return any(
        planting.attracts_bees and planting.blooms_on(day)
        for planting in all_of(visit.course, "plantings")
    )


def access_hours(place: Property, day: date) -> list[Hours]:
    """Return the hours of a day in which a property lets crews in; the whole day without any."""
    zone = place.zone()
    windows = all_of(place, "access_windows")
    if not windows:
        midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
        return [(midnight, midnight.replace(hour=23, minute=59, second=59))]
    return [
        (
            datetime.combine(day, window.opens, tzinfo=zone),
            datetime.combine(day, window.closes, tzinfo=zone),
        )
        for window in windows
        if window.weekday == day.weekday()
    ]


def by_daylight(place: Property, day: date) -> Hours:
    """Return the hours from civil dawn to civil dusk; the whole day where neither comes."""
    dawn, dusk = (find(place_of(place), day) for find in (civil_dawn, civil_dusk))
    midnight = datetime(day.year, day.month, day.day, tzinfo=place.zone())
    last = midnight.replace(hour=23, minute=59, second=59)
    return dawn or midnight, dusk if dusk and dusk.date() == day else last


def place_of(place: Property) -> Place:
    """Return a property as the rules of daylight need it."""
    return Place(*place.lies_at(), place.time_zone)


def _open(window: SprayWindow) -> list[Hours]:
    if window.opens is None or window.closes is None:
        return []
    return [(window.opens, window.closes)]


def _within(access: Iterable[Hours], light: Iterable[Hours]) -> list[Hours]:
    shared = [
        (max(opens, rises), min(closes, sets)) for opens, closes in access for rises, sets in light
    ]
    return sorted(hours for hours in shared if hours[0] < hours[1])


def _refuse(reason: Finding) -> list[Hours]:
    raise NoHours(reason)


def _closed(place: Property, day: date) -> Finding:
    return Finding(
        code="no-access-that-day",
        severity=Severity.REFUSAL,
        sentence=gettext_noop("%(property)s lets no crew in on %(day)s."),
        remedy=gettext_noop("Take another day, or agree on hours with the client."),
        facts={"property": place.name, "day": day.isoformat()},
        source="common practice",
    )


def _closed_at_dusk(place: Property, day: date, dusk: SprayWindow) -> Finding:
    return Finding(
        code="no-access-at-dusk",
        severity=Severity.REFUSAL,
        sentence=gettext_noop(
            "%(property)s lets no crew in at dusk on %(day)s, from %(opens)s to %(closes)s, nor "
            "early in the morning."
        ),
        remedy=gettext_noop("Take another day, or agree on hours with the client."),
        facts={
            "property": place.name,
            "day": day.isoformat(),
            "opens": f"{dusk.opens:%H:%M}",
            "closes": f"{dusk.closes:%H:%M}",
        },
        source="common practice",
    )


def _dark(place: Property, day: date) -> Finding:
    return Finding(
        code="access-only-in-the-dark",
        severity=Severity.REFUSAL,
        sentence=gettext_noop("%(property)s lets crews in on %(day)s only while it is dark."),
        remedy=gettext_noop("Take another day, or agree on hours with the client."),
        facts={"property": place.name, "day": day.isoformat()},
        source="common practice",
    )
