"""Which client is to be given a copy of a record, and by when.

Idaho asks for it within 30 days of an application for restricted use [ID-02-03-03]; Minnesota
always and without a number of days [MN-18B].  Where a state's rule names no copy, that is not
known here, and never taken for "no duty".
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from treatments.rules.records.needs import Circumstances
from treatments.rules.records.rulesets import RuleSet, rulesets_for


@dataclass(frozen=True, slots=True)
class CopyDuty:
    """A rule that asks for a copy to the client; `due_on` is None where it names no days."""

    jurisdiction: str
    due_on: date | None
    rule: str  # English; translated where it is shown
    citation: str
    source: str
    mark: str


def copies_due(
    applied_on: date,
    jurisdiction: str,
    circumstances: Circumstances,
    rulesets: Sequence[RuleSet] | None = None,
) -> list[CopyDuty]:
    """Return the duties to give the client a copy of a record; empty where none is known.

    applied_on: the day of the application by the clocks of its place
    jurisdiction: of the place treated, "US-ID" or "ID"
    circumstances: what conditions of the rules hold

    >>> restricted = Circumstances(restricted_use=True)
    >>> [duty.due_on for duty in copies_due(date(2026, 6, 1), "US-ID", restricted)]
    [datetime.date(2026, 7, 1)]
    """
    if rulesets is None:
        rulesets = rulesets_for(
            jurisdiction, applied_on, restricted_use=circumstances.restricted_use
        )
    return [_duty(each, applied_on) for each in rulesets if _asks(each, circumstances)]


def knows_of_copies(
    jurisdiction: str, day: date, rulesets: Sequence[RuleSet] | None = None
) -> bool:
    """Say whether a state's rule for copies is known, be it under a condition that fails.

    >>> knows_of_copies("US-PA", date(2026, 6, 1)), knows_of_copies("US-NJ", date(2026, 6, 1))
    (True, False)
    """
    if rulesets is None:
        rulesets = rulesets_for(jurisdiction, day, restricted_use=False)
    return any(
        each.row["customer_copy_rule"] is not None for each in rulesets if not each.is_federal
    )


def _asks(ruleset: RuleSet, circumstances: Circumstances) -> bool:
    conditions = ruleset.row.get("customer_copy_when")
    return conditions is not None and all(circumstances.meet(each) for each in conditions)


def _duty(ruleset: RuleSet, applied_on: date) -> CopyDuty:
    days = ruleset.row["customer_copy_days"]
    return CopyDuty(
        jurisdiction=ruleset.code,
        due_on=None if days is None else applied_on + timedelta(days=days),
        rule=ruleset.row["customer_copy_rule"],
        citation=ruleset.citation,
        source=ruleset.source,
        mark=ruleset.mark_of("customer_copy_days"),
    )
