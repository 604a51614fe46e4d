"""The days that are planned together, and what may move on them."""

from dataclasses import dataclass
from datetime import date, timedelta

from services.models import Visit


@dataclass(frozen=True, slots=True)
class Horizon:
    """The days that are planned together, what is to go on them, and what may move.

    chosen: the ids of visits that are to go, beside those on the routes of the days
    freed: the ids of visits that may move to another day although theirs is promised
    absent: the ids of crews that are not there, each with the day
    yard: the id of the yard whose crews alone are planned; None where all are
    """

    first: date
    last: date
    chosen: frozenset[int] = frozenset()
    freed: frozenset[int] = frozenset()
    absent: frozenset[tuple[int, date]] = frozenset()
    yard: int | None = None

    def days(self) -> list[date]:
        """Return the days in order."""
        return [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]

    def number(self, day: date) -> int:
        """Return the number of a day in the plan, the first being 0."""
        return (day - self.first).days

    def holds(self, day: date) -> bool:
        """Say whether a day is one of them."""
        return self.first <= day <= self.last

    def is_with_a_crew(self, visit: Visit) -> bool:
        """Say whether a visit is on a route of the days, of a crew that is there."""
        route = visit.dispatch
        if route is None or not self.holds(route.day):
            return False
        return (route.crew_id, route.day) not in self.absent
