"""Time on jobs: how long each person of a crew was at stops, by day, from starts and ends told."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from services.courses import local_day
from services.figures import made_between
from services.models import Technician, Visit

DAYS = 7


@dataclass(slots=True)
class PersonHours:
    """Minutes of a person at stops by day, and how many stops tell no start."""

    technician: Technician
    minutes: dict[date, int] = field(default_factory=lambda: defaultdict(int))
    stops: int = 0
    untold: int = 0

    def total(self) -> int:
        """Return the minutes of all days."""
        return sum(self.minutes.values())


@dataclass(frozen=True, slots=True)
class WeekHours:
    """A week of hours: its days, and each person with a cell a day."""

    days: tuple[date, ...]
    people: tuple[PersonHours, ...]

    def rows(self) -> list[tuple[PersonHours, list[tuple[date, int]]]]:
        """Return each person with each day and its minutes."""
        return [
            (each, [(day, each.minutes.get(day, 0)) for day in self.days]) for each in self.people
        ]


def hours_of_week(monday: date) -> WeekHours:
    """Return the hours at stops of a week, in a fixed number of queries.

    Every person of the crew that was sent is counted, as the crew stands now; the way between
    stops is not counted.
    """
    days = tuple(monday + timedelta(days=number) for number in range(DAYS))
    visits = made_between(days[0], days[-1]).filter(dispatch__isnull=False)
    visits = visits.select_related("course__property", "dispatch__crew")
    people = _people_by_crew()
    for visit in visits:
        if (day := local_day(visit)) in days and visit.dispatch:
            for person in people.get(visit.dispatch.crew_id, ()):
                _add(person, visit, day)
    found = (person for crew in people.values() for person in crew if person.stops)
    return WeekHours(days, tuple(sorted(found, key=lambda each: str(each.technician))))


def _add(person: PersonHours, visit: Visit, day: date) -> None:
    person.stops += 1
    if visit.started_at is None or visit.completed_at is None:
        person.untold += 1
    else:
        told = visit.completed_at - visit.started_at
        person.minutes[day] += round(told.total_seconds() / 60)


def _people_by_crew() -> Mapping[int, list[PersonHours]]:
    people: dict[int, list[PersonHours]] = defaultdict(list)
    for technician in Technician.objects.select_related("user", "crew"):
        if technician.crew_id is not None:
            people[technician.crew_id].append(PersonHours(technician))
    return people
