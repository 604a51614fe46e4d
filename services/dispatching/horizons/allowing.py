"""On which days of a horizon visits may go, and why some may go on none."""

from collections.abc import Sequence
from datetime import date

from services.courses.days import working_days
from services.dispatching import findings as said
from services.dispatching.horizons.horizon import Horizon
from services.dispatching.obstacles import Known, obstacles_of, shortages
from services.dispatching.store import FreeStock
from services.models import Visit
from services.rules.scheduling import preferred_day
from services.telling.notices import people_to_tell
from treatments.rules.findings import Finding, Severity


def days_and_reasons(
    visits: Sequence[Visit], horizon: Horizon, known: Known, lots: FreeStock
) -> tuple[dict[int, list[date]], dict[int, Finding]]:
    """Return the days on which visits may go, and why the others may on none, by their ids."""
    days: dict[int, list[date]] = {}
    left_out: dict[int, Finding] = {}
    waiting = [visit for visit in visits if visit.state == Visit.State.NEEDS_ACTION]
    for visit in waiting:
        possible, reason = _possible_days(visit, horizon, known)
        if possible:
            days[visit.pk] = possible
        else:
            left_out[visit.pk] = reason or _no_day(visit, horizon)
    promised_first = sorted(waiting, key=lambda visit: visit.dispatch_id is None)
    in_turn = [visit for visit in promised_first if visit.pk in days]
    first_days = {pk: possible[0] for pk, possible in days.items()}
    short = shortages(in_turn, known.takes, lots.lots, first_days)
    left_out |= {pk: findings[0] for pk, findings in short.items()}
    return {pk: each for pk, each in days.items() if pk not in short}, left_out


def is_promised(visit: Visit, known: Known) -> bool:
    """Say whether somebody was told that the visit comes on its planned day."""
    return any(reader.key in known.given for reader in people_to_tell(visit))


def _possible_days(
    visit: Visit, horizon: Horizon, known: Known
) -> tuple[list[date], Finding | None]:
    """Return the days on which nothing refuses a visit, and what refuses the day it should be."""
    refusals: dict[date, Finding] = {}
    allowed = _allowed_days(visit, horizon, known)
    for day in allowed:
        found = obstacles_of(visit, day, known)
        refused = next((each for each in found if each.severity is Severity.REFUSAL), None)
        if refused:
            refusals[day] = refused
    reason = refusals.get(visit.planned) or next(iter(refusals.values()), None)
    return [day for day in allowed if day not in refusals], reason


def _allowed_days(visit: Visit, horizon: Horizon, known: Known) -> list[date]:
    """Return the days on which a visit is allowed; what is promised keeps its day.

    One that is late goes on the first day on which its property lets a crew in.
    """
    if visit.pk not in horizon.freed:
        if visit.dispatch is not None:
            return [visit.dispatch.day] if horizon.holds(visit.dispatch.day) else []
        if visit.planned >= horizon.first and is_promised(visit, known):
            return [visit.planned] if horizon.holds(visit.planned) else []
    if visit.latest < horizon.first:
        working = working_days(visit.course.property)
        soon = preferred_day(horizon.first, horizon.first, horizon.last, working)
        return [soon] if soon else []
    return [day for day in horizon.days() if visit.earliest <= day <= visit.latest]


def _no_day(visit: Visit, horizon: Horizon) -> Finding:
    if visit.open_hold() is not None:
        return said.held(visit, visit.open_hold())
    if visit.dispatch is not None and not horizon.holds(visit.dispatch.day):
        return said.on_another_day(visit, horizon.first)
    return said.no_day(visit, horizon.first, horizon.last)
