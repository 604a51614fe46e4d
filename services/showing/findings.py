"""What the rules say of a rotation on plantings, sorted by the planting it is said of."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clients.models import Planting
from treatments.checking import check_course
from treatments.models import Rotation
from treatments.rules.findings import Finding, Severity, refuses


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of one planting, or of all together where none is named."""

    planting: Planting | None
    findings: list[Finding]


@dataclass(frozen=True, slots=True)
class Look:
    """All that is said before a rotation is put on."""

    said: list[Said]

    def refuses(self) -> bool:
        """Say whether anything stops it."""
        return any(refuses(each.findings) for each in self.said)

    def is_silent(self) -> bool:
        """Say whether the rules have nothing to say."""
        return not any(each.findings for each in self.said)


def look_at(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date, today: date
) -> Look:
    """Return what the rules say of a rotation on each planting, and on all of them together."""
    if len(plantings) == 1:
        found = check_course(rotation, plantings, first_day, today)
        return Look([Said(plantings[0], _worst_first(found))])
    together = check_course(rotation, plantings, first_day, today)
    shared = [finding for finding in together if "planting" not in finding.facts]
    each = [
        Said(planting, _own(check_course(rotation, [planting], first_day, today), shared))
        for planting in plantings
    ]
    return Look([Said(None, _worst_first(shared)), *(said for said in each if said.findings)])


def _own(findings: Sequence[Finding], shared: Sequence[Finding]) -> list[Finding]:
    """Return the findings of one planting that are not said of all; the store is asked once."""
    said = {finding.say() for finding in shared}
    own = [
        finding
        for finding in findings
        if finding.say() not in said and not finding.code.startswith(("stock", "lot"))
    ]
    return _worst_first(own)


def _worst_first(findings: Sequence[Finding]) -> list[Finding]:
    worst = [Severity.REFUSAL, Severity.WARNING, Severity.NOTE]
    return sorted(findings, key=lambda finding: worst.index(finding.severity))
