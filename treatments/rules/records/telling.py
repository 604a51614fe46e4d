"""A rule set fact by fact, each with who says so and how far that is sure.

What was not found is told as not known; nobody is to read it as "no duty".
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from treatments.rules.findings import gettext_noop
from treatments.rules.records.fields import FIELDS
from treatments.rules.records.rulesets import SURE, RuleSet, fingerprint_of

NAMES = {
    "required_fields": gettext_noop("what a record must hold"),
    "conditional_fields": gettext_noop("what it must hold under a condition"),
    "record_deadline_hours": gettext_noop("hours in which it is written"),
    "record_deadline_days": gettext_noop("days in which it is written"),
    "retention_years": gettext_noop("years it is kept"),
    "customer_copy_rule": gettext_noop("copy for the client"),
    "customer_copy_days": gettext_noop("days in which the copy is given"),
    "reporting": gettext_noop("reports to the state"),
    "posting": gettext_noop("sign that stays"),
    "notice": gettext_noop("notice before"),
}
SIGN_WORDS = {
    "required_when": gettext_noop("asked for"),
    "sign_min_width_in": gettext_noop("width, inches"),
    "sign_min_height_in": gettext_noop("height, inches"),
    "letter_min_in": gettext_noop("letters, inches"),
    "background": gettext_noop("ground"),
    "lettering": gettext_noop("lettering"),
    "contents": gettext_noop("words"),
    "post_before_or_at": gettext_noop("goes up"),
    "keep_up_hours": gettext_noop("stays, hours"),
    "keep_up_rule": gettext_noop("stays"),
    "remover": gettext_noop("taken down by"),
}
NOTICE_WORDS = {
    "trigger": gettext_noop("when"),
    "within_ft": gettext_noop("within, feet"),
    "hours_before": gettext_noop("hours before, at least"),
    "hours_before_max": gettext_noop("hours before, at most"),
    "days_before": gettext_noop("days before, at least"),
    "days_before_max": gettext_noop("days before, at most"),
    "business_days_before": gettext_noop("business days before"),
    "asked_days_before": gettext_noop("asked in writing so many days before"),
    "how": gettext_noop("how"),
}
AS_PRINTED = frozenset({"contents"})  # a sign speaks the language of its rule
NOT_IN_ONE = {"record_deadline_hours": "record_deadline_days"}


@dataclass(frozen=True, slots=True)
class Line:
    """A part of a fact: a word of ours, to be translated, and what the rule says of it.

    is_word: the values are words of the table, which are translated as well
    """

    word: str
    values: tuple[str, ...]
    is_word: bool = False


@dataclass(frozen=True, slots=True)
class RuleFact:
    """One fact of a rule set.  Without lines it is not known, which is no leave to do without."""

    fact: str
    name: str  # English; translated where it is shown
    lines: tuple[Line, ...]
    citation: str
    source: str
    mark: str
    fingerprint: str

    def is_known(self) -> bool:
        """Say whether anything was found."""
        return bool(self.lines)

    def is_sure(self) -> bool:
        """Say whether somebody compared it with the code."""
        return self.mark in SURE


def facts_told(ruleset: RuleSet) -> list[RuleFact]:
    """Return every fact of a rule set, those that are not known as well.

    >>> from treatments.rules.records.rulesets import ruleset_of
    >>> told = {each.fact: each for each in facts_told(ruleset_of("US-NJ"))}
    >>> told["record_deadline_hours"].lines[0].values, told["customer_copy_rule"].is_known()
    (('24',), False)
    """
    return [_fact(ruleset, fact) for fact in NAMES if not _is_told_by_another(ruleset.row, fact)]


def unsure_facts(ruleset: RuleSet) -> list[RuleFact]:
    """Return what is known of a rule set and was not compared with the code.

    >>> from treatments.rules.records.rulesets import ruleset_of
    >>> [each.fact for each in unsure_facts(ruleset_of("US-PA"))]
    ['retention_years', 'notice']
    """
    return [each for each in facts_told(ruleset) if each.is_known() and not each.is_sure()]


def _is_told_by_another(row: dict[str, Any], fact: str) -> bool:
    """Say whether a deadline is told in hours where this one tells days, or the other way."""
    other = {**NOT_IN_ONE, **{days: hours for hours, days in NOT_IN_ONE.items()}}.get(fact)
    if other is None or row[fact] is not None:
        return False
    return row[other] is not None or fact == "record_deadline_days"


def _fact(ruleset: RuleSet, fact: str) -> RuleFact:
    row = ruleset.row
    return RuleFact(
        fact=fact,
        name=NAMES[fact],
        lines=tuple(_lines(row, fact)),
        citation=ruleset.citation,
        source=_source(ruleset, fact),
        mark=_mark(ruleset, fact),
        fingerprint=fingerprint_of(row[fact]),
    )


def _mark(ruleset: RuleSet, fact: str) -> str:
    mark = ruleset.mark_of(fact)
    notices = ruleset.row["notice"] if fact == "notice" else []
    if mark == "read" and any(each["mark"] != "read" for each in notices):
        return "memory"
    return mark


def _source(ruleset: RuleSet, fact: str) -> str:
    row = ruleset.row
    if fact.startswith(("record_deadline", "retention")):
        return row.get("deadline_source", ruleset.source)
    if fact == "notice" and row["notice"]:
        return ", ".join(dict.fromkeys(each["source"] for each in row["notice"]))
    return row["posting_source"] if fact == "posting" else ruleset.source


def _lines(row: dict[str, Any], fact: str) -> Iterator[Line]:
    value = row[fact]
    if fact == "required_fields":
        yield from (Line("", (FIELDS[field],), is_word=True) for field in FIELDS if field in value)
    elif fact == "conditional_fields":
        yield from (
            Line(FIELDS[name], (each["condition"],), is_word=True) for name, each in value.items()
        )
    elif fact == "posting":
        yield from _said_of(value or {}, SIGN_WORDS)
    elif fact == "notice":
        for each in value:
            yield Line("", (each["who"],), is_word=True)
            yield from _said_of(each, NOTICE_WORDS)
    elif value is not None:
        yield Line("", (str(value),), is_word=isinstance(value, str))


def _said_of(told: dict[str, Any], words: Mapping[str, str]) -> Iterator[Line]:
    for key, word in words.items():
        value = told.get(key)
        if value not in (None, []):
            yield _line(word, value, is_word=key not in AS_PRINTED)


def _line(word: str, value: Any, is_word: bool) -> Line:
    values = value if isinstance(value, list) else [value]
    return Line(word, tuple(map(str, values)), is_word and isinstance(values[0], str))
