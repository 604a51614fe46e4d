"""What a hold would do: the days of the later weeks, and where it is known, the pest."""

from dataclasses import dataclass
from datetime import date, timedelta

from services.forms.courses import LONGEST_HOLD
from services.holding import days_after_hold
from services.models import Visit
from services.rules.scheduling import PlannedVisit
from services.showing.expected import expected_of
from treatments.rules.findings import Finding

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PestDelay:
    """What waiting does to the pest on one planting; where it is not known, why not."""

    planting: str
    is_known: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Delay:
    """What a hold until a day would do."""

    day: date
    moves: list[tuple[PlannedVisit, PlannedVisit]]
    pests: list[PestDelay]


def delay_shown(visit: Visit, asked: date | None, today: date) -> Delay:
    """Return what a hold of a visit would do, until the day asked for or the next."""
    day = min(max(asked or visit.planned + ONE_DAY, today), today + LONGEST_HOLD)
    moves = days_after_hold(visit, day) if visit.state == Visit.State.NEEDS_ACTION else []
    later = next((now.planned for was, now in moves if was.week == visit.week), visit.planned)
    return Delay(day, moves, _pests(visit, (later - max(visit.planned, today)).days, today))


def _pests(visit: Visit, days: int, today: date) -> list[PestDelay]:
    """Return what so many days of waiting do to the pest, planting by planting."""
    if days < 1 or visit.rotation_week.product_id is None:
        return []
    asked = {"week": visit.week, "change": "slip", "days": days, "later_too": "on"}
    expected = expected_of(visit.course, today, asked)
    return [
        PestDelay(
            each.planting.name,
            bool(each.outlook.forecast and each.changed),
            each.changed or each.outlook.findings[:1],
        )
        for each in expected.shown
    ]
