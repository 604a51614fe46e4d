"""The rule sets of the states and the federal rule, read from their table."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from hashlib import sha256
from typing import Any

from treatments.rules.table_files import read_json

READ, MEMORY, CONFIRMED, OWN = "read", "memory", "confirmed", "own"
FEDERAL = frozenset({"US-RUP", "US-FORMER-110", "US-WPS"})
SURE = frozenset({READ, CONFIRMED})  # marks of what somebody compared with the code
DIGITS = 8  # of a fingerprint, in a version; our own choice


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The rules of one jurisdiction, with where they stand and how far they were read."""

    code: str
    name: str
    citation: str
    source: str
    mark: str  # "read", "memory" or, of the business's own, "own"
    in_force_until: date | None
    restricted_use_only: bool
    row: dict[str, Any]
    confirmed: frozenset[str] = frozenset()  # facts that were compared with the code

    def mark_of(self, fact: str) -> str:
        """Return how far one fact is sure, such as "retention_years": a mark."""
        if fact in self.confirmed:
            return CONFIRMED
        return MEMORY if fact in self.row["memory_fields"] else self.mark

    @property
    def key(self) -> str:
        """Return the rule set with its version, as a record keeps it.

        >>> ruleset_of("US-NJ").key.split("@")[0]
        'NJ'
        """
        return self.row.get("key") or f"{self.code}@{fingerprint_of(self.row)}"

    @property
    def is_federal(self) -> bool:
        """Say whether the rule set is one of the federal ones."""
        return self.code in FEDERAL

    @property
    def is_own(self) -> bool:
        """Say whether the business entered the rule set itself."""
        return self.mark == OWN

    def holds_on(self, day: date) -> bool:
        """Say whether the rule held on the day of an application; it is never applied later."""
        return self.in_force_until is None or day <= self.in_force_until


def _state(jurisdiction: str) -> str:
    return jurisdiction.upper().removeprefix("US-")


@cache
def _all_rulesets() -> dict[str, RuleSet]:
    return {row["code"]: ruleset_from(row) for row in read_json("rulesets")["rulesets"]}


def table_rulesets() -> list[RuleSet]:
    """Return every rule set of the table, the federal ones first."""
    return list(_all_rulesets().values())


def fingerprint_of(fact: object) -> str:
    """Return what changes when a fact of a rule set does, in hexadecimal digits.

    >>> fingerprint_of({"retention_years": 3}) == fingerprint_of({"retention_years": 2})
    False
    """
    told = json.dumps(fact, sort_keys=True, ensure_ascii=False)
    return sha256(told.encode()).hexdigest()[:DIGITS]


def ruleset_from(row: dict[str, Any]) -> RuleSet:
    """Return the rule set that stands in a row with the keys of the table."""
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
    return ruleset is not None and ruleset.mark == READ


def are_verified(rulesets: Iterable[RuleSet]) -> bool:
    """Say whether a state's rules among these were read or confirmed: of the record's fields."""
    return any(each.mark_of("required_fields") in SURE for each in rulesets if not each.is_federal)


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
    state = ruleset_of(_state(jurisdiction))
    return rulesets_with(state, day, restricted_use=restricted_use, production_site=production_site)


def rulesets_with(
    state: RuleSet | None, day: date, *, restricted_use: bool, production_site: bool = False
) -> list[RuleSet]:
    """Return the rule sets that bind an application where a state's own was chosen.

    state: the rule set that the business works under there, None for none
    """
    codes = ["US-RUP", "US-FORMER-110"] if restricted_use else []
    codes += ["US-WPS"] if production_site else []
    found = [*([state] if state else []), *(_all_rulesets()[code] for code in codes)]
    return [ruleset for ruleset in found if ruleset.holds_on(day)]


def with_confirmed(
    rulesets: Sequence[RuleSet], confirmed: Iterable[tuple[str, str, str]]
) -> list[RuleSet]:
    """Return the rule sets with what was compared with the code marked so.

    confirmed: code, fact and fingerprint of the fact as it was when it was compared
    """
    known = set(confirmed)
    if not known:
        return list(rulesets)
    return [replace(each, confirmed=_confirmed_of(each, known)) for each in rulesets]


def _confirmed_of(ruleset: RuleSet, known: set[tuple[str, str, str]]) -> frozenset[str]:
    code = ruleset.key if ruleset.is_own else ruleset.code
    return frozenset(
        fact
        for named, fact, fingerprint in known
        if named == code and fingerprint == fingerprint_of(ruleset.row.get(fact))
    )
