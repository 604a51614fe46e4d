"""Why a stop is left out: what no crew has, which hours no crew works, or what would give way."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from services.rules.plans import (
    CERTIFICATE,
    DAY,
    FULL,
    ON_THE_SPOT,
    CrewShift,
    Stop,
    bare,
    stop_units,
    tank_units,
)
from services.rules.routing.greedy import Tours, cheapest_insertion, driving
from services.rules.routing.ground import Ground
from services.rules.routing.timetable import can_do, walk
from treatments.rules.findings import Finding, Severity, gettext_noop


def why_left_out(stop: Stop, tours: Tours, shifts: Sequence[CrewShift], ground: Ground) -> Finding:
    """Return the first of the reasons for which a stop is in none of the tours."""
    return (
        _lacks_crew(stop, shifts)
        or _lacks_hours(stop, shifts, ground)
        or _lacks_room(stop, tours, [s for s in shifts if can_do(s, stop)], ground)
    )


def _lacks_crew(stop: Stop, shifts: Sequence[CrewShift]) -> Finding | None:
    nobody_has = stop.needs - frozenset().union(*(shift.has for shift in shifts))
    certificates = {need for need in nobody_has if need.startswith(CERTIFICATE)}
    if certificates:
        return _reason(_which_certificate(certificates), stop, {"needs": bare(certificates)})
    if nobody_has:
        return _reason("no-crew-with-equipment", stop, {"needs": bare(nobody_has)})
    if not any(can_do(shift, stop) for shift in shifts):
        return _reason("no-crew-with-all", stop, {"needs": bare(stop.needs)})
    return None


def _which_certificate(needs: Iterable[str]) -> str:
    """Return the code of the reason: a holder on the crew, a full one, or any is lacking."""
    if any(need.endswith(ON_THE_SPOT) for need in needs):
        return "no-holder-on-crew"
    is_full = any(need.endswith(FULL) for need in needs)
    return "no-crew-with-full-certificate" if is_full else "no-crew-with-certificate"


def _lacks_hours(stop: Stop, shifts: Sequence[CrewShift], ground: Ground) -> Finding | None:
    able = [shift for shift in shifts if can_do(shift, stop)]
    if not stop.windows:
        return stop.no_window or _reason("no-window", stop)
    if not any(walk(shift, [stop], ground) for shift in able):
        return _reason("window-outside-shifts", stop, {"windows": _hours(stop)})
    largest = max(shift.tank_gallons for shift in able)
    if stop_units(stop.spray_gallons) > tank_units(largest):
        facts = {"gallons": _plain(stop.spray_gallons), "tank_gallons": _plain(largest)}
        return _reason("more-than-a-tank", stop, facts)
    return None


def _lacks_room(stop: Stop, tours: Tours, able: Sequence[CrewShift], ground: Ground) -> Finding:
    place = cheapest_insertion(stop, tours, able, ground)
    if place:
        facts = {
            "crew": place.shift.shown(),
            "minutes": _minutes(place.added_seconds),
            "worth_minutes": _minutes(stop.prize()),
        }
        return _reason("detour-too-long", stop, facts)
    return _giving_way(stop, tours, able, ground) or _reason("no-room", stop)


def _giving_way(
    stop: Stop, tours: Tours, able: Sequence[CrewShift], ground: Ground
) -> Finding | None:
    """Return which other stop would have to go, the one that counts least with its detour."""
    swaps = []
    for shift in able:
        calls = tours[shift.key]
        before = driving(shift, calls, ground)
        for other in filter(None, calls):
            rest = {**tours, shift.key: tuple(call for call in calls if call is not other)}
            place = cheapest_insertion(stop, rest, [shift], ground)
            if place:
                added = driving(shift, place.calls, ground) - before
                swaps.append((other.prize() + added, other.key, added, other, shift))
    if not swaps:
        return None
    _, _, added, other, shift = min(swaps, key=lambda swap: swap[:3])
    facts = {"crew": shift.shown(), "other": other.shown(), "minutes": abs(_minutes(added))}
    return _reason("no-room-unless" if added >= 0 else "no-room-unless-nearer", stop, facts)


def _reason(code: str, stop: Stop, facts: Mapping[str, object] | None = None) -> Finding:
    return replace(REASONS[code], facts={"stop": stop.shown(), **(facts or {})})


def _hours(stop: Stop) -> str:
    return ", ".join(f"{_clock(opens)}-{_clock(closes)}" for opens, closes in stop.windows)


def _clock(seconds: int) -> str:
    return f"{seconds % DAY // 3600:02}:{seconds % 3600 // 60:02}"


def _minutes(seconds: int) -> int:
    return round(seconds / 60)


def _plain(amount: Decimal) -> str:
    return f"{amount.normalize():f}"


def _as_reasons(*reasons: tuple[str, str, str]) -> dict[str, Finding]:
    return {
        code: Finding(code, Severity.WARNING, sentence, remedy, source="common practice")
        for code, sentence, remedy in reasons
    }


REASONS = _as_reasons(
    (
        "no-crew-with-certificate",
        gettext_noop("No crew on duty holds the certificate %(needs)s that %(stop)s needs."),
        gettext_noop("Put somebody who holds it on a crew, or move the visit."),
    ),
    (
        "no-crew-with-full-certificate",
        gettext_noop(
            "No crew on duty holds the full certificate %(needs)s that %(stop)s needs; a limited "
            "one does not allow it."
        ),
        gettext_noop("Put somebody who holds it on a crew, or move the visit."),
    ),
    (
        "no-holder-on-crew",
        gettext_noop(
            "%(stop)s takes a product of restricted use, and nobody on a crew on duty holds the "
            "certificate %(needs)s."
        ),
        gettext_noop("Put somebody who holds it on a crew, or move the visit."),
    ),
    (
        "no-crew-with-equipment",
        gettext_noop("No crew on duty has the equipment that %(stop)s needs: %(needs)s."),
        gettext_noop("Load it on a truck, or move the visit."),
    ),
    (
        "no-crew-with-all",
        gettext_noop("No one crew has all that %(stop)s needs: %(needs)s."),
        gettext_noop("Put these together on one crew, or split the visit."),
    ),
    (
        "no-window",
        gettext_noop("There is no hour in these days at which %(stop)s may be treated."),
        gettext_noop("Plan another day."),
    ),
    (
        "window-outside-shifts",
        gettext_noop(
            "The hours of %(stop)s (%(windows)s) lie outside the shifts of the crews that could "
            "do it."
        ),
        gettext_noop("Move a shift, or take another day."),
    ),
    (
        "more-than-a-tank",
        gettext_noop(
            "%(stop)s takes %(gallons)s gal, and the largest tank that could go holds "
            "%(tank_gallons)s gal."
        ),
        gettext_noop("Split the visit, or send a larger tank."),
    ),
    (
        "detour-too-long",
        gettext_noop(
            "%(stop)s fits the day of %(crew)s but adds %(minutes)s min of driving, and leaving it "
            "out counts only %(worth_minutes)s min."
        ),
        gettext_noop("Raise its priority, or take a day on which a crew is near."),
    ),
    (
        "no-room-unless",
        gettext_noop(
            "There is no room for %(stop)s: %(crew)s could take it in place of %(other)s, with "
            "%(minutes)s min more driving."
        ),
        gettext_noop("Let the other visit give way, or take another day."),
    ),
    (
        "no-room-unless-nearer",
        gettext_noop(
            "There is no room for %(stop)s: %(crew)s could take it in place of %(other)s, with "
            "%(minutes)s min less driving."
        ),
        gettext_noop("Let the other visit give way, or take another day."),
    ),
    (
        "no-room",
        gettext_noop(
            "There is no room for %(stop)s: the days of the crews that could do it are full."
        ),
        gettext_noop("Take another day, or add a crew."),
    ),
)
