"""Applications that were to be made and of which there is no record yet: only known above."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class OwedReport:
    """A stop of which nobody has told yet whether it was made.

    day: on which it was to be made, by the clock of its place
    due_at: by when the record must be written if it was made then, by that clock
    """

    place: str
    what: str
    crew: str
    day: date
    due_at: datetime
    due: str  # in words, with the name of that clock
    is_late: bool
    is_due_today: bool
    url: str


class Owing:
    """What the schedule knows of it; `services` replaces this when it starts."""

    reports_of: Callable[[Any, datetime], list[OwedReport]] = staticmethod(lambda user, now: [])


def owed_reports(user: Any, now: datetime) -> list[OwedReport]:
    """Return the stops whose record is owed, as far as a person may see them."""
    return Owing.reports_of(user, now)
