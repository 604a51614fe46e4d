"""Visits as the stops of a plan: where, when the work may start, what it needs and takes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from services.courses.hours import Hours, NoHours, spray_windows
from services.dispatching.clock import DayClock
from services.dispatching.crews import crew_itself, needs_of
from services.dispatching.takes import RINSE_MINUTES, Takes
from services.models import Dispatch, Visit
from services.rules.plans import Stop, Window
from services.rules.spray_hours import without
from services.rules.travel import Point
from treatments.rules.findings import Finding, Severity, gettext_noop

PROMISED = 10  # how many others a stop outweighs whose crew was told of it; our own choice


def stop_of(
    visit: Visit,
    takes: Takes,
    clock: DayClock,
    not_before: datetime | None,
    closed: Sequence[Hours] = (),
) -> Stop:
    """Return a visit as a stop.

    not_before: the moment before which nothing can start any more, on the day itself
    closed: the hours that a fresh forecast closes for it, in order
    """
    place = visit.course.property
    windows, reason = _starts(visit, takes, clock, not_before, closed)
    return Stop(
        key=key_of(visit),
        point=Point(*place.lies_at()),
        windows=windows,
        service_seconds=takes.minutes * 60,
        needs=needs_of(visit),
        spray_gallons=takes.gallons,
        priority=PROMISED if visit.dispatch_id else 1,
        last_day=visit.latest <= clock.day,
        client=str(place.pk),
        name=name_of(visit),
        no_window=reason,
        mix=takes.mix,
        rinse_seconds=RINSE_MINUTES * 60,
        rinse_gallons=takes.rinse_gallons,
    )


def begun_stop(visit: Visit, takes: Takes, clock: DayClock) -> Stop:
    """Return a visit that was begun as a stop that stays with its crew at its hour."""
    leg = work_leg(visit.dispatch, visit)
    arrives_at, leaves_at = visit.hours_on_route()
    begins = datetime.fromisoformat(leg["from"]) if leg else arrives_at
    starts, ends = clock.seconds(begins), clock.seconds(leaves_at)
    stop = stop_of(visit, takes, clock, None)
    return replace(
        stop,
        windows=((starts, starts),),
        service_seconds=ends - starts,
        needs=frozenset({crew_itself(visit.route().crew_id)}),
        priority=PROMISED**3,
        client="",
    )


def work_leg(dispatch: Dispatch | None, visit: Visit) -> Mapping | None:
    """Return the leg of a route on which a visit is made, or None."""
    legs = dispatch.legs if dispatch else []
    return next((leg for leg in legs if leg.get("visit") == visit.pk), None)


def key_of(visit: Visit) -> str:
    """Return the key of a visit in a plan, which sorts as its id does."""
    return f"{visit.pk:09}"


def name_of(visit: Visit) -> str:
    """Return how people know a visit."""
    return f"{visit.course.property.name} ({visit.course.rotation.name})"


def _starts(
    visit: Visit,
    takes: Takes,
    clock: DayClock,
    not_before: datetime | None,
    closed: Sequence[Hours],
) -> tuple[tuple[Window, ...], Finding | None]:
    try:
        hours = spray_windows(visit, clock.day)
    except NoHours as none:
        return (), none.finding
    earliest = clock.seconds(not_before) if not_before else 0
    windows = _long_enough(without(hours, closed), takes, clock, earliest)
    if windows:
        return windows, None
    if closed and _long_enough(hours, takes, clock, earliest):
        return (), _closed_by_weather(visit, clock)
    return (), _too_short(visit, takes)


def _long_enough(
    hours: Sequence[Hours], takes: Takes, clock: DayClock, earliest: int
) -> tuple[Window, ...]:
    starts = [
        (max(clock.seconds(opens), earliest), clock.seconds(closes) - takes.minutes * 60)
        for opens, closes in hours
    ]
    return tuple(window for window in starts if window[0] <= window[1])


def _closed_by_weather(visit: Visit, clock: DayClock) -> Finding:
    return Finding(
        code="weather-closes-hours",
        severity=Severity.WARNING,
        sentence=gettext_noop(
            "The forecast leaves %(stop)s no hours on %(day)s in which it may be sprayed."
        ),
        remedy=gettext_noop("Take another day, or look again when the forecast changes."),
        facts={"stop": name_of(visit), "day": clock.day.isoformat()},
        source="common practice",
    )


def _too_short(visit: Visit, takes: Takes) -> Finding:
    return Finding(
        code="hours-too-short",
        severity=Severity.WARNING,
        sentence=gettext_noop(
            "%(stop)s takes %(minutes)s min, more than its hours of that day leave."
        ),
        remedy=gettext_noop("Take another day, or agree on longer hours with the client."),
        facts={"stop": name_of(visit), "minutes": takes.minutes},
        source="common practice",
    )
