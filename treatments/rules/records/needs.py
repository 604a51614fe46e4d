"""Which fields a record must hold, and who asks for each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.records.fields import ALWAYS_KEPT, FIELDS, SATISFIED_BY
from treatments.rules.records.rulesets import RuleSet, are_verified, is_verified, rulesets_for

MISSING = gettext_noop("The record lacks: %(field)s. Asked for by %(citation)s.")
FILL_IN = gettext_noop("Fill it in; where it does not apply, say so.")
NOT_VERIFIED = gettext_noop(
    "The record rules of %(jurisdiction)s were not read; the record holds what is common practice."
)
ASK_AGENCY = gettext_noop("Ask the state's agency what its records must hold.")


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What decides which fields are asked for.  Unknown is taken as asked for."""

    restricted_use: bool = False
    reentry_stated: bool = True
    site_differs: bool = True  # the place treated is not the customer's address
    supervised: bool = False
    noncertified_applicator: bool = False
    agricultural_commodity: bool = False
    rate_per_area: bool = True
    open_air: bool = True
    production_site: bool = False
    permit: bool = False
    incident: bool = False
    disposal: bool = False

    def meet(self, condition: str) -> bool:
        """Say whether a condition of the table holds; "always" does."""
        return condition == "always" or bool(getattr(self, condition))


@dataclass(frozen=True, slots=True)
class NeededField:
    """A field that a record must hold, and the rules that ask for it."""

    field: str
    name: str  # English; translated where it is shown
    asked_by: tuple[str, ...]  # codes of rule sets; empty for common practice
    citations: tuple[str, ...]
    source: str  # a key, or "common practice"
    mark: str  # "read", "memory" or "common practice"


def fields_needed(
    jurisdiction: str,
    day: date,
    circumstances: Circumstances = Circumstances(),
    rulesets: Sequence[RuleSet] | None = None,
) -> list[NeededField]:
    """Return the fields that a record of this application must hold, in the order of FIELDS.

    jurisdiction: of the place treated, "US-PA" or "PA"
    day: of the application
    circumstances: what conditions of the rules hold
    rulesets: those that bind, where they are not simply the table's of the place
    """
    if rulesets is None:
        rulesets = _binding(jurisdiction, day, circumstances)
    return _all_needed(FIELDS, rulesets, circumstances)


def _binding(jurisdiction: str, day: date, circumstances: Circumstances) -> list[RuleSet]:
    return rulesets_for(
        jurisdiction,
        day,
        restricted_use=circumstances.restricted_use,
        production_site=circumstances.production_site,
    )


def _all_needed(
    fields: Iterable[str], rulesets: Sequence[RuleSet], circumstances: Circumstances
) -> list[NeededField]:
    needed = (_needed(field, rulesets, circumstances) for field in fields)
    return [field for field in needed if field is not None]


def _needed(
    field: str, rulesets: Sequence[RuleSet], circumstances: Circumstances
) -> NeededField | None:
    asking = [each for each in rulesets if _asks(each, field, circumstances)]
    if not asking and field not in ALWAYS_KEPT:
        return None
    first = asking[0] if asking else None
    return NeededField(
        field=field,
        name=FIELDS[field],
        asked_by=tuple(each.code for each in asking),
        citations=tuple(each.citation for each in asking),
        source=first.source if first else "common practice",
        mark=first.mark_of("required_fields") if first else "common practice",
    )


def _asks(ruleset: RuleSet, field: str, circumstances: Circumstances) -> bool:
    if field in ruleset.row["required_fields"]:
        return True
    condition = ruleset.row["conditional_fields"].get(field)
    return condition is not None and circumstances.meet(condition["when"])


def missing_fields(
    filled: Mapping[str, object],
    jurisdiction: str,
    day: date,
    circumstances: Circumstances = Circumstances(),
    rulesets: Sequence[RuleSet] | None = None,
) -> list[NeededField]:
    """Return the fields that are asked for and empty.  A zero is an answer, a blank is none.

    filled: field to value; "not applicable" counts as filled
    """
    if rulesets is None:
        rulesets = _binding(jurisdiction, day, circumstances)
    told = {name for name, answer in filled.items() if _is_answer(answer)}
    blank = [field for field in FIELDS if told.isdisjoint(SATISFIED_BY.get(field, (field,)))]
    return _all_needed(blank, rulesets, circumstances)


def _is_answer(answer: object) -> bool:
    text = answer.strip() if isinstance(answer, str) else answer
    return text not in (None, "", "None")


def check_record(
    filled: Mapping[str, object],
    jurisdiction: str,
    day: date,
    circumstances: Circumstances = Circumstances(),
    rulesets: Sequence[RuleSet] | None = None,
) -> list[Finding]:
    """Return a refusal for each field that a rule asks for and a warning where practice does."""
    missing = missing_fields(filled, jurisdiction, day, circumstances, rulesets)
    findings = [_missing(needed) for needed in missing]
    if is_verified(jurisdiction) if rulesets is None else are_verified(rulesets):
        return findings
    facts = {"jurisdiction": jurisdiction}
    return [
        *findings,
        Finding(
            "rules-not-read", Severity.NOTE, NOT_VERIFIED, ASK_AGENCY, facts, "common practice"
        ),
    ]


def _missing(needed: NeededField) -> Finding:
    facts = {"field": needed.name, "citation": " / ".join(needed.citations) or needed.source}
    severity = Severity.REFUSAL if needed.asked_by else Severity.WARNING
    return Finding("field-missing", severity, MISSING, FILL_IN, facts, needed.source)
