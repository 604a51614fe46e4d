"""What a check has to say: a severity, a sentence, what would make it lawful, and its source."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Context, Decimal
from enum import StrEnum
from types import MappingProxyType

MOST_PLACES = 6  # in which an amount is entered
SHORT = Context(prec=4)


class Marked(str):
    """A text that is translated where it is said, also when it fills a place in a sentence."""

    __slots__ = ()


class Named(Marked):
    """A name in English, by which the rules know a thing, that the book has in more languages.

    others: the name by the code of its language; who tells the fact chooses among them

    >>> Named("spider mite", {"es": "araña roja"}) == "spider mite"
    True
    """

    __slots__ = ("others",)
    others: Mapping[str, str]

    def __new__(cls, name: str, others: Mapping[str, str] = MappingProxyType({})) -> "Named":
        """Make a name that is the same text as its English."""
        named = super().__new__(cls, name)
        named.others = dict(others)
        return named


class Counted(Marked):
    """A sentence of many, with that of one where a fact that it counts by is one.

    one: the sentence of one; by: the name of the fact

    >>> late = Counted("%(days)s days late.", "%(days)s day late.", "days")
    >>> filled(late, {"days": 1}), filled(late, {"days": 2})
    ('1 day late.', '2 days late.')
    """

    __slots__ = ("by", "one")
    one: str
    by: str

    def __new__(cls, many: str, one: str = "", by: str = "") -> "Counted":
        """Make a sentence that is the same text as that of many."""
        counted = super().__new__(cls, many)
        counted.one, counted.by = one, by
        return counted


def number_of(template: str, facts: Mapping[str, object]) -> str:
    """Return a template in the number of what it counts."""
    if isinstance(template, Counted) and facts.get(template.by) == 1:
        return template.one
    return template


def as_marked(name: str) -> Marked:
    """Return a name that is translated where it is said, its other names kept."""
    return name if isinstance(name, Marked) else Marked(name)


def gettext_noop(sentence: str) -> Marked:
    """Mark a sentence for the translators and return it as it is."""
    return Marked(sentence)


def plainly(fact: object) -> object:
    """Return a moment without seconds and zone, an amount without needless digits, else the fact.

    A moment is written as ISO 8601 writes it, with a space.  What a division left with more places
    than anybody enters is told by its first digits.

    >>> plainly(datetime(2026, 5, 4, 18, 30)), plainly(Decimal("10.000"))
    ('2026-05-04 18:30', '10')
    >>> plainly(Decimal(1) / Decimal(3))
    '0.3333'
    """
    if isinstance(fact, datetime):
        return f"{fact:%Y-%m-%d %H:%M}"
    if not isinstance(fact, Decimal):
        return fact
    exponent = fact.as_tuple().exponent
    is_quotient = isinstance(exponent, int) and exponent < -MOST_PLACES
    return f"{(SHORT.plus(fact) if is_quotient else fact).normalize():f}"


def filled(
    template: str,
    facts: Mapping[str, object],
    translate: Callable[[str], str] = str,
    tell: Callable[[object], object] = plainly,
) -> str:
    """Return a template in the language of `translate`, its places filled by the facts.

    tell: turns dates and moments into the reader's way of writing them

    >>> filled("%(days)s days late.", {"days": 2})
    '2 days late.'
    """
    return translate(number_of(template, facts)) % _Told(facts, translate, tell)


@dataclass(frozen=True, slots=True)
class _Told:
    """The facts that a template names, as they are read."""

    facts: Mapping[str, object]
    translate: Callable[[str], str]
    tell: Callable[[object], object]

    def __getitem__(self, name: str) -> object:
        """Return a fact; a name that the book has in no other way is translated."""
        fact = self.facts[name]
        own = self.tell(fact)
        return self.translate(fact) if isinstance(fact, Marked) and own == fact else own


class Refused(ValueError):
    """Something that cannot be worked out, with a sentence a crew can act on.

    >>> str(Refused("There are %(runs)s runs.", runs=2))
    'There are 2 runs.'
    """

    def __init__(self, sentence: str, **facts: object) -> None:
        super().__init__(filled(sentence, facts) if facts else sentence)
        self.sentence = sentence
        self.facts = facts

    def say(self, translate: Callable[[str], str] = str) -> str:
        """Return the sentence with its facts, in the language of `translate`."""
        if not self.facts:
            return translate(self.sentence)
        return filled(self.sentence, self.facts, translate)


def say_refusal(reason: ValueError, translate: Callable[[str], str]) -> str:
    """Return why something was refused, in the language of `translate` where it is marked."""
    return reason.say(translate) if isinstance(reason, Refused) else str(reason)


class Severity(StrEnum):
    """How a finding binds: a note informs, a warning wants a reason, a refusal stops."""

    NOTE = "note"
    WARNING = "warning"
    REFUSAL = "refusal"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a check found, worded once for page, sheet, phone and API.

    code: a short name in words, such as "group-repeated"
    sentence, remedy: English templates with %(name)s places that `facts` fill
    source: a key of SOURCES.md, "label", or "common practice"
    week: the week of the rotation it speaks of, or None when it speaks of the whole
    """

    code: str
    severity: Severity
    sentence: str
    remedy: str = ""
    facts: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))
    source: str = "label"
    week: int | None = None

    def say(
        self,
        translate: Callable[[str], str] = str,
        tell: Callable[[object], object] = plainly,
    ) -> str:
        """Return the sentence with its facts, in the language of `translate`.

        >>> Finding("late", Severity.NOTE, "%(days)s days late.", facts={"days": 2}).say()
        '2 days late.'
        """
        return filled(self.sentence, self.facts, translate, tell)

    def say_remedy(
        self,
        translate: Callable[[str], str] = str,
        tell: Callable[[object], object] = plainly,
    ) -> str:
        """Return what would make it lawful, or an empty text."""
        return filled(self.remedy, self.facts, translate, tell) if self.remedy else ""

    def in_week(self, week: int) -> "Finding":
        """Return the same finding, said of a week of the rotation."""
        return replace(self, week=week)


def refuses(findings: list[Finding]) -> bool:
    """Say whether any of the findings stops the work."""
    return any(finding.severity is Severity.REFUSAL for finding in findings)
