"""The hours of a stop: when its work begins and ends, and when it may be done at all."""

from collections.abc import Iterable
from datetime import date, datetime

from services.courses import NoHours, spray_windows
from services.models import Visit


def work_hours(visit: Visit, legs: Iterable[dict]) -> tuple[datetime | None, datetime | None]:
    """Return when work at a stop begins and ends: by the leg of its work, or as the visit says."""
    leg = next((leg for leg in legs if leg.get("visit") == visit.pk), None)
    if leg is None:
        return visit.arrives_at, visit.leaves_at
    return datetime.fromisoformat(leg["from"]), datetime.fromisoformat(leg["until"])


def allowed_hours(visit: Visit, day: date) -> list[tuple[datetime, datetime]]:
    """Return the hours of a day in which a visit may be made; none where the day has none."""
    try:
        return spray_windows(visit, day)
    except NoHours:
        return []
