"""How well a treatment worked, and whether a poor result looks like resistance.

Without untreated plants beside the treated ones nobody knows what the weather did: then a change
is told, never a control.
"""

from collections.abc import Collection
from dataclasses import dataclass

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.population import Kill

SUSPECT_BELOW = 0.6  # of the kill that was expected; common practice
TWICE = 2  # poor results of one group before it is suspected; common practice
PHYSICAL_GROUPS = frozenset({"", "UNM", "UNE"})  # soap and oils, to which no mite is resistant

POOR = gettext_noop(
    "%(product)s did less than expected: %(percent)s percent where about %(expected)s percent was "
    "to be expected."
)
SUSPECTED = gettext_noop(
    "%(product)s (group %(group)s) did less than expected %(times)s times: %(percent)s percent "
    "where about %(expected)s percent was to be expected. The mites may be resistant."
)
LOOK_FIRST = gettext_noop(
    "Look first at coverage of leaf undersides, rate, water, rain after the visit, stages on the "
    "leaf and the age of the tank."
)
LEAVE_GROUP = gettext_noop(
    "Leave group %(group)s out for the rest of the season, and ask the extension office for a test."
)


class EfficacyUnknown(ValueError):
    """Counts from which no efficacy can be told."""


@dataclass(frozen=True, slots=True)
class Counts:
    """Living pests a leaf before and after a treatment; untreated ones where there are any."""

    treated_before: float
    treated_after: float
    untreated_before: float | None = None
    untreated_after: float | None = None


def abbott(untreated_survival: float, treated_survival: float) -> float:
    """Return the efficacy by Abbott's formula, 100 (C - T) / C, in per cent [JEE-18].

    untreated_survival, treated_survival: parts that live, of equal numbers at the start

    >>> round(abbott(0.8, 0.2), 6)
    75.0
    """
    if untreated_survival <= 0 or treated_survival < 0:
        raise EfficacyUnknown("Without untreated survivors there is nothing to hold against.")
    return 100 * (untreated_survival - treated_survival) / untreated_survival


def henderson_tilton(counts: Counts) -> float:
    """Return the efficacy by Henderson and Tilton, 100 (1 - Ta Cb / (Tb Ca)) [JEE-48].

    counts: all four above zero, but those after the treatment of treated plants

    >>> round(henderson_tilton(Counts(120, 18, 100, 150)), 6)
    90.0
    """
    before, after = counts.untreated_before, counts.untreated_after
    if not (before and after) or counts.treated_before <= 0 or counts.treated_after < 0:
        raise EfficacyUnknown("An efficacy takes counts before and after, treated and untreated.")
    return 100 * (1 - counts.treated_after * before / (counts.treated_before * after))


def change_percent(before: float, after: float) -> float:
    """Return by how many per cent a count fell (above 0) or rose (below 0).

    >>> change_percent(10, 4)
    60.0
    """
    if before <= 0 or after < 0:
        raise EfficacyUnknown("A change is told from a count above zero.")
    return 100 * (before - after) / before


def expected_percent(kill: Kill, coverage: float, eggs_share: float = 0.0) -> float:
    """Return the kill at a visit that was to be expected, of all that were counted, in per cent.

    eggs_share: part of eggs among what was counted; moving mites alone by default

    The moving stages weigh alike.  Common practice, as the kills are.

    >>> round(expected_percent(Kill(0, 0.9, 0.9, 0.9), coverage=0.85), 1)
    76.5
    """
    moving = (kill.larva + kill.nymph + kill.adult) / 3
    return 100 * coverage * (eggs_share * kill.egg + (1 - eggs_share) * moving)


def susceptibility(found_percent: float, expected: float) -> float:
    """Return which part of its kill a product still has, from 0 to 1, for the next forecast.

    >>> susceptibility(30, 75)
    0.4
    """
    if expected <= 0:
        raise EfficacyUnknown("A product that was to kill nothing cannot fail.")
    return min(1.0, max(0.0, found_percent / expected))


def too_little(
    product: str, groups: Collection[str], percent: float, expected: float, *, poor_before: int = 0
) -> Finding | None:
    """Return a warning where a treatment did far less than was to be expected, else None.

    groups: IRAC groups as printed, "" for soap and oil
    percent, expected: control against untreated plants, or both a plain change
    poor_before: earlier treatments of these groups on this planting that did too little
    """
    if percent >= SUSPECT_BELOW * expected:
        return None
    facts: dict[str, object] = {
        "product": product,
        "group": " + ".join(sorted(groups)),
        "percent": f"{percent:.0f}",
        "expected": f"{expected:.0f}",
        "times": poor_before + 1,
    }
    code, sentence, remedy = "poor-efficacy", POOR, LOOK_FIRST
    if not PHYSICAL_GROUPS.issuperset(groups) and poor_before + 1 >= TWICE:
        code, sentence, remedy = "resistance-suspected", SUSPECTED, LEAVE_GROUP
    return Finding(code, Severity.WARNING, sentence, remedy, facts, "common practice")
