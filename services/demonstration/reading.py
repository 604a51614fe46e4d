"""Reads the invented data, and turns days told from the demonstration's own day into dates."""

import tomllib
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

DATA = Path(__file__).parent / "data"
ZONE = ZoneInfo("America/New_York")
SUNDAY = 6


@cache
def read(name: str) -> dict[str, Any]:
    """Return one file of the data by its name without the ending."""
    return tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))


def plain(row: dict[str, Any], *left_out: str) -> dict[str, Any]:
    """Return a row without the columns that are put together elsewhere."""
    return {name: value for name, value in row.items() if name not in left_out}


@dataclass(frozen=True, slots=True)
class Days:
    """The days of a demonstration: the one it plays on, and the Monday of its week."""

    today: date

    @classmethod
    def of(cls, today: date) -> "Days":
        """Return the days of a demonstration; one on a Sunday plays on the Monday after."""
        return cls(today + timedelta(days=1) if today.weekday() == SUNDAY else today)

    @property
    def monday(self) -> date:
        """The first day of the week that is dispatched."""
        return self.today - timedelta(days=self.today.weekday())

    def from_today(self, days: int) -> date:
        """Return the date so many days after the demonstration's own."""
        return self.today + timedelta(days=days)

    def from_monday(self, days: int) -> date:
        """Return the date so many days after the Monday."""
        return self.monday + timedelta(days=days)


def moment(day: date, hour: int, minute: int = 0) -> datetime:
    """Return an hour of a day by the clock of the yard."""
    return datetime.combine(day, time(hour, minute), tzinfo=ZONE)
