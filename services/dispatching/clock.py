"""Turns the seconds in which a plan reckons into instants, and back."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from services.rules.local_time import seconds_of_day


@dataclass(frozen=True, slots=True)
class DayClock:
    """The clock of a day at the yard; a plan counts seconds from its 00:00, as it shows them."""

    day: date
    zone: str

    def seconds(self, instant: datetime) -> int:
        """Return what the clock shows at an instant."""
        return seconds_of_day(instant, self.day, self.zone)

    def instant(self, seconds: int) -> datetime:
        """Return the instant at which the clock shows so many seconds."""
        midnight = datetime.combine(self.day, time(), tzinfo=ZoneInfo(self.zone))
        return midnight + timedelta(seconds=seconds)

    def shown(self, seconds: int) -> str:
        """Return the instant as it is kept in the legs of a route [ISO 8601]."""
        return self.instant(seconds).isoformat()
