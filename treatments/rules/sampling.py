"""How many leaves to look at, what a share of infested leaves tells, and from when it matters.

Mites sit in clumps: by Taylor's law the variance of counts is ``a * mean ** b``.  A share of
infested leaves is quicker to find than a count, and its confidence is told by the score interval
[STATMED-17].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, exp, log, sqrt
from statistics import NormalDist

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.table_files import read_toml

CONFIDENCE = 0.90  # this project's choice
FEWEST_LEAVES = 20  # of a planting: enough for presence or absence at 5 mites a leaf [JEE-106-4]
PLANTS_BEATEN = 10  # common practice; fewer plants are beaten on several sides
LEAST_BEATS = 4  # on one plant, a side each: common practice

OVER = gettext_noop(
    "%(infested)s of %(leaves)s leaves are infested: at or over %(threshold)s percent, as far as "
    "such a sample can tell (%(low)s to %(high)s)."
)
UNDER = gettext_noop(
    "%(infested)s of %(leaves)s leaves are infested: under %(threshold)s percent, as far as such a "
    "sample can tell (%(low)s to %(high)s)."
)
UNDECIDED = gettext_noop(
    "%(infested)s of %(leaves)s leaves are infested: too few leaves to tell on which side of "
    "%(threshold)s percent it lies (%(low)s to %(high)s)."
)
LOOK_AT_MORE = gettext_noop("Look at %(more)s leaves more.")


class SampleUnusable(ValueError):
    """Leaves or counts from which nothing can be told."""


class Unit(StrEnum):
    """What a threshold is counted by."""

    LEAF = "leaf"
    BEAT = "beat"
    SHARE = "share"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A level from which treating is thought to pay; a working level that a firm may change.

    level, upto: mites a leaf or a beat, or a share from 0 to 1; upto where a range is advised
    """

    pest: str
    plants: str
    level: float
    unit: Unit
    source: str
    upto: float | None = None


@dataclass(frozen=True, slots=True)
class Share:
    """A share of infested leaves, from 0 to 1, and the interval in which the true one lies."""

    share: float
    low: float
    high: float


def thresholds_of(pest: str) -> tuple[Threshold, ...]:
    """Return the levels known for a pest by its common name, plants by plants.

    >>> [(each.plants, each.level) for each in thresholds_of("boxwood mite")]
    [('boxwood', 0.1)]
    """
    name = pest.strip().casefold()
    return tuple(
        Threshold(
            row["pest"],
            row["plants"],
            row["level"],
            Unit(row["unit"]),
            row["source"],
            row.get("upto"),
        )
        for row in read_toml("thresholds")["threshold"]
        if row["pest"] == name
    )


def share_infested(infested: int, leaves: int, confidence: float = CONFIDENCE) -> Share:
    """Return the share of infested leaves with its score interval [STATMED-17].

    infested, leaves: counted; confidence: between 0 and 1

    >>> found = share_infested(81, 263, 0.95)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2553, 0.3662)
    """
    if leaves <= 0 or not 0 <= infested <= leaves:
        raise SampleUnusable("Of the leaves looked at, none to all can be infested.")
    if not 0 < confidence < 1:
        raise SampleUnusable("A confidence lies between 0 and 1.")
    share, z = infested / leaves, NormalDist().inv_cdf((1 + confidence) / 2)
    weight = 1 + z**2 / leaves
    middle = (share + z**2 / (2 * leaves)) / weight
    reach = z * sqrt(share * (1 - share) / leaves + z**2 / (4 * leaves**2)) / weight
    return Share(share, max(0.0, middle - reach), min(1.0, middle + reach))


def share_at_mean(mean_per_leaf: float, a: float, b: float) -> float:
    """Return the share of leaves that are infested at a mean number of mites a leaf.

    a, b: of Taylor's law, variance = a * mean ** b; variance must be above the mean

    1 - exp(-m ln(s) / (s - 1)) with s = a m^(b-1), from memory.

    >>> round(share_at_mean(2, a=3.0, b=1.5), 4)
    0.5899
    """
    if mean_per_leaf < 0 or a <= 0:
        raise SampleUnusable("A mean is zero or more, and Taylor's a is above zero.")
    if mean_per_leaf == 0:
        return 0.0
    clumping = a * mean_per_leaf ** (b - 1)
    if clumping == 1:
        return 1 - exp(-mean_per_leaf)
    return 1 - exp(-mean_per_leaf * log(clumping) / (clumping - 1))


def leaves_for_count(mean_per_leaf: float, precision: float, a: float, b: float) -> int:
    """Return the leaves to count for a precision of the mean.

    precision: standard error as a part of the mean, such as 0.25
    a, b: of Taylor's law

    n = a m^(b-2) / D^2, rounded up; from memory.

    >>> leaves_for_count(5, 0.25, a=3.0, b=1.5)
    22
    """
    if mean_per_leaf <= 0 or precision <= 0:
        raise SampleUnusable("A mean and a precision are above zero.")
    return ceil(a * mean_per_leaf ** (b - 2) / precision**2)


def leaves_for_share(share: float, margin: float, confidence: float = CONFIDENCE) -> int:
    """Return the leaves to look at so that a share is known to a margin.

    share: expected, from 0 to 1; margin: to either side, as a part of 1

    n = z^2 P (1 - P) / margin^2, rounded up, and no fewer than FEWEST_LEAVES.

    >>> leaves_for_share(0.5, 0.05, 0.95)
    385
    """
    if not 0 <= share <= 1 or margin <= 0:
        raise SampleUnusable("A share lies from 0 to 1, and a margin above zero.")
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    return max(FEWEST_LEAVES, ceil(z**2 * share * (1 - share) / margin**2))


def beats_for(plants: int) -> dict[str, int]:
    """Return the plants to beat and the beats on each; common practice.

    >>> beats_for(40), beats_for(2)
    ({'plants': 10, 'beats_each': 1}, {'plants': 2, 'beats_each': 5})
    """
    if plants < 1:
        raise SampleUnusable("There is at least one plant to beat.")
    beaten = min(plants, PLANTS_BEATEN)
    each = ceil(PLANTS_BEATEN / beaten) if beaten > 1 else LEAST_BEATS
    return {"plants": beaten, "beats_each": each}


def against_share_threshold(infested: int, leaves: int, threshold: float) -> Finding:
    """Return on which side of a share the leaves stand, or how many more it takes to tell.

    threshold: share of infested leaves, from 0 to 1
    """
    found = share_infested(infested, leaves)
    facts: dict[str, object] = {
        "infested": infested,
        "leaves": leaves,
        "threshold": f"{100 * threshold:.0f}",
        "low": f"{100 * found.low:.0f}",
        "high": f"{100 * found.high:.0f}",
    }
    if found.low >= threshold:
        return Finding("share-over", Severity.WARNING, OVER, "", facts, "STATMED-17")
    if found.high < threshold:
        return Finding("share-under", Severity.NOTE, UNDER, "", facts, "STATMED-17")
    facts["more"] = _more_leaves(found.share, leaves, threshold)
    return Finding("share-undecided", Severity.NOTE, UNDECIDED, LOOK_AT_MORE, facts, "STATMED-17")


def _more_leaves(share: float, leaves: int, threshold: float) -> int:
    """Return how many more leaves tell a share from a threshold, four times as many at most."""
    margin = max(abs(share - threshold), 0.1)  # nearer than a tenth nobody needs to know
    return max(FEWEST_LEAVES // 2, min(leaves_for_share(threshold, margin), 5 * leaves) - leaves)


def mean_and_error(counts: Sequence[float]) -> tuple[float, float]:
    """Return the mean of counts and its standard error.

    counts: a figure a leaf or a beat, two or more

    >>> mean_and_error([2, 4])
    (3.0, 1.0)
    """
    number = len(counts)
    if number < 2:
        raise SampleUnusable("An error is told from two counts or more.")
    mean = sum(counts) / number
    variance = sum((each - mean) ** 2 for each in counts) / (number - 1)
    return mean, sqrt(variance / number)
