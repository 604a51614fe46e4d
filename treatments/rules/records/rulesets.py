"""The rule sets of the states and the federal rule, read from their table."""

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from treatments.rules.table_files import read_json


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The rules of one jurisdiction, with where they stand and how far they were read."""

    code: str
    name: str
    citation: str
    source: str
    mark: str  # "read" or "memory"
    in_force_until: date | None
    restricted_use_only: bool
    row: dict[str, Any]

    def mark_of(self, fact: str) -> str:
        """Return "read" or "memory" for one fact, such as "retention_years"."""
        return "memory" if fact in self.row["memory_fields"] else self.mark

    def holds_on(self, day: date) -> bool:
        """Say whether the rule held on the day of an application; it is never applied later."""
        return self.in_force_until is None or day <= self.in_force_until


def _state(jurisdiction: str) -> str:
    return jurisdiction.upper().removeprefix("US-")


@cache
def _all_rulesets() -> dict[str, RuleSet]:
    return {row["code"]: _ruleset(row) for row in read_json("rulesets")["rulesets"]}


def _ruleset(row: dict[str, Any]) -> RuleSet:
    until = row["in_force_until"]
    return RuleSet(
        code=row["code"],
        name=row["name"],
        citation=row["citation"],
        source=row["source"],
        mark=row["verified"],
        in_force_until=date.fromisoformat(until) if until else None,
        restricted_use_only=row["restricted_use_only"],
        row=row,
    )


def ruleset_of(jurisdiction: str) -> RuleSet | None:
    """Return the rule set of a state, written "US-PA" (ISO 3166-2) or "PA"; None when unknown.

    The federal rule sets go by their own codes: "US-RUP", "US-FORMER-110", "US-WPS".

    >>> ruleset_of("US-NJ").name, ruleset_of("US-ZZ")
    ('New Jersey', None)
    """
    rulesets = _all_rulesets()
    return rulesets.get(jurisdiction) or rulesets.get(_state(jurisdiction))


def is_verified(jurisdiction: str) -> bool:
    """Say whether the rules of a place were read; where not, the page says so.

    >>> is_verified("US-PA"), is_verified("US-NV")
    (True, False)
    """
    ruleset = ruleset_of(jurisdiction)
    return ruleset is not None and ruleset.mark == "read"


def rulesets_for(
    jurisdiction: str, day: date, *, restricted_use: bool, production_site: bool = False
) -> list[RuleSet]:
    """Return the rule sets that bind an application: the state's, and the federal ones.

    jurisdiction: of the place, "US-PA" or "PA"
    day: of the application; the rescinded 7 CFR 110 binds up to 10 July 2025 only [7CFR110]
    restricted_use: whether the product is for restricted use, which 40 CFR 171 asks for
    production_site: a nursery, greenhouse or farm, where the Worker Protection Standard holds

    >>> [each.code for each in rulesets_for("US-PA", date(2026, 6, 1), restricted_use=True)]
    ['PA', 'US-RUP']
    """
    codes = [_state(jurisdiction)]
    codes += ["US-RUP", "US-FORMER-110"] if restricted_use else []
    codes += ["US-WPS"] if production_site else []
    rulesets = _all_rulesets()
    found = [rulesets[code] for code in codes if code in rulesets]
    return [ruleset for ruleset in found if ruleset.holds_on(day)]
