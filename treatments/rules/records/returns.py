"""The periodic returns that rules name: for which period, by when, and in which fields.

New York: once a year by 1 February for the year before [NY-ECL-33].  California: once a month to
the county by the 10th of the next [CA-3CCR6624].  What is made from these is a table to file
from, never an official form.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

from treatments.rules.records.rulesets import RuleSet, ruleset_of

YEAR, MONTH = "year", "month"


@dataclass(frozen=True, slots=True)
class ReturnRule:
    """One periodic return; None is not known."""

    jurisdiction: str
    name: str
    period: str
    due_month: int | None
    due_day: int | None
    rule: str  # English; translated where it is shown
    fields: tuple[str, ...]
    citation: str
    source: str
    mark: str

    def first_day(self, day: date) -> date:
        """Return the first day of the period in which a day lies."""
        return day.replace(month=1, day=1) if self.period == YEAR else day.replace(day=1)

    def last_day(self, day: date) -> date:
        """Return the last day of the period in which a day lies."""
        return date.fromordinal(self.next_first(day).toordinal() - 1)

    def next_first(self, day: date) -> date:
        """Return the first day after the period in which a day lies."""
        if self.period == YEAR:
            return date(day.year + 1, 1, 1)
        return date(day.year + day.month // 12, day.month % 12 + 1, 1)

    def due_on(self, day: date) -> date | None:
        """Return by when the return of a day's period is filed, or None where that is not known.

        >>> return_rule("US-NY").due_on(date(2026, 6, 1))
        datetime.date(2027, 2, 1)
        """
        if self.due_day is None:
            return None
        after = self.next_first(day)
        return after.replace(month=self.due_month or after.month, day=self.due_day)


def return_rule(jurisdiction: str) -> ReturnRule | None:
    """Return the periodic return of a place, or None where no rule was found.

    >>> return_rule("US-CA").due_on(date(2026, 12, 31)), return_rule("US-PA")
    (datetime.date(2027, 1, 10), None)
    """
    ruleset = ruleset_of(jurisdiction)
    row = ruleset.row.get("return") if ruleset else None
    return _rule(ruleset, row) if ruleset and row else None


def _rule(ruleset: RuleSet, row: dict[str, Any]) -> ReturnRule:
    return ReturnRule(
        jurisdiction=ruleset.code,
        name=ruleset.name,
        period=row["period"],
        due_month=row["due_month"],
        due_day=row["due_day"],
        rule=ruleset.row["reporting"],
        fields=tuple(ruleset.row["required_fields"]),
        citation=ruleset.citation,
        source=row["source"],
        mark=row["mark"],
    )
