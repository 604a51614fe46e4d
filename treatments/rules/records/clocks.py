"""By when a record must be written, and how long it is kept.

Pennsylvania and New Jersey: within 24 hours [PA-128-35] [NJAC-7-30-8-8]; the longest keeping
time read is Washington's, seven years [WA-17-21].  A record written the same day and kept seven
years meets every rule of the table, which is what an unread rule gets.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from treatments.rules.records.rulesets import RuleSet, rulesets_for

SHORTEST_HOURS = 24  # [PA-128-35] [NJAC-7-30-8-8]
LONGEST_YEARS = 7  # [WA-17-21]


@dataclass(frozen=True, slots=True)
class Clock:
    """When a record is due, and who says so; `known` is False where no rule was read."""

    due_at: datetime
    known: bool
    citation: str
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class Retention:
    """How long a record is kept, and who says so."""

    years: int
    keep_until: date
    known: bool
    citation: str
    source: str
    mark: str


def record_due(
    finished_at: datetime,
    jurisdiction: str,
    *,
    restricted_use: bool = False,
    rulesets: Sequence[RuleSet] | None = None,
) -> Clock:
    """Return when the record of an application must be written, by the shortest rule.

    finished_at: the end of the application, with its time zone
    jurisdiction: of the place treated, "US-PA" or "PA"
    rulesets: those that bind, where they are not simply the table's of the place

    Hours are elapsed hours; days run to the end of the last one.  Pennsylvania counts from the
    date, which is never sooner than 24 hours from the end.
    """
    if rulesets is None:
        rulesets = rulesets_for(jurisdiction, finished_at.date(), restricted_use=restricted_use)
    dues = [(due, each) for each in rulesets if (due := _due(finished_at, each)) is not None]
    unread = Clock(
        _after_hours(finished_at, SHORTEST_HOURS), False, "", "common practice", "common practice"
    )
    if not dues:
        return unread
    due, ruleset = min(dues, key=lambda pair: pair[0])
    source = ruleset.row.get("deadline_source", ruleset.source)
    in_hours = ruleset.row["record_deadline_hours"] is not None
    fact = "record_deadline_hours" if in_hours else "record_deadline_days"
    return Clock(due, True, ruleset.citation, source, ruleset.mark_of(fact))


def _due(finished_at: datetime, ruleset: RuleSet) -> datetime | None:
    if (hours := ruleset.row["record_deadline_hours"]) is not None:
        return _after_hours(finished_at, hours)
    if (days := ruleset.row["record_deadline_days"]) is not None:
        last = finished_at.date() + timedelta(days=days)
        return datetime.combine(last, time(23, 59, 59), finished_at.tzinfo)
    return None


def _after_hours(start: datetime, hours: int) -> datetime:
    end = start.astimezone(UTC) + timedelta(hours=hours)
    return end.astimezone(start.tzinfo)


def retention_of(
    applied_on: date,
    jurisdiction: str,
    *,
    restricted_use: bool = False,
    rulesets: Sequence[RuleSet] | None = None,
) -> Retention:
    """Return how long a record is kept: the longest of its rules, else seven years.

    >>> retention_of(date(2026, 6, 1), "US-PA").keep_until
    datetime.date(2029, 6, 1)
    """
    if rulesets is None:
        rulesets = rulesets_for(jurisdiction, applied_on, restricted_use=restricted_use)
    told = [each for each in rulesets if each.row["retention_years"] is not None]
    state_is_silent = all(each.is_federal for each in told)
    if state_is_silent:
        until = _years_later(applied_on, LONGEST_YEARS)
        return Retention(LONGEST_YEARS, until, False, "", "common practice", "common practice")
    longest = max(told, key=lambda each: each.row["retention_years"])
    years = longest.row["retention_years"]
    return Retention(
        years=years,
        keep_until=_years_later(applied_on, years),
        known=True,
        citation=longest.citation,
        source=longest.row.get("deadline_source", longest.source),
        mark=longest.mark_of("retention_years"),
    )


def _years_later(day: date, years: int) -> date:
    """Return the same day years later; the 29th of February becomes the 1st of March."""
    if (day.month, day.day) == (2, 29):
        return date(day.year + years, 3, 1)
    return day.replace(year=day.year + years)
