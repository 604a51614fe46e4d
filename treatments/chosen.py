"""Which rule set of its own the business works under where and when, read once a request or task.

The rows are few, and are asked for at every visit and every record of a page.
"""

from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date

from treatments.models import OwnRuleSet, RuleChoice

_read: ContextVar["Chosen | None"] = ContextVar("chosen", default=None)


@dataclass(frozen=True, slots=True)
class Chosen:
    """All choices and all own rule sets of the book, each in the order in which they follow."""

    choices: tuple[RuleChoice, ...]
    owns: tuple[OwnRuleSet, ...]

    def uses_own(self, jurisdiction: str, day: date) -> bool:
        """Say whether the business works under its own rule set at a place on a day."""
        made = [each for each in self.choices if each.jurisdiction == jurisdiction]
        held = [each for each in made if each.holds_from <= day]
        return bool(held) and held[-1].uses == RuleChoice.Uses.OWN

    def own_at(self, jurisdiction: str, day: date) -> OwnRuleSet | None:
        """Return the version that holds at a place on a day where the business works under it."""
        if not self.uses_own(jurisdiction, day):
            return None
        versions = [each for each in self.owns if each.jurisdiction == jurisdiction]
        held = [each for each in versions if each.valid_from <= day]
        return held[-1] if held else None


def chosen() -> Chosen:
    """Return what the business chose, as it was when this request or task first asked."""
    known = _read.get()
    if known is None:
        choices = tuple(RuleChoice.objects.order_by("holds_from", "pk"))
        # Nobody works under a rule set that nobody chose.
        owns = OwnRuleSet.objects.order_by("valid_from", "number") if choices else ()
        known = Chosen(choices, tuple(owns))
        _read.set(known)
    return known


def forget(**_signal: object) -> None:
    """Read anew when next asked: another request or task begins, or something was chosen."""
    _read.set(None)
