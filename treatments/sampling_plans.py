"""How many leaves to look at on a planting, from when treating pays, and what leaves tell."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from clients.models import PlantGroup, Planting
from treatments.models import Pest, ScoutingCount
from treatments.rules.findings import Finding
from treatments.rules.sampling import (
    CONFIDENCE,
    Threshold,
    Unit,
    against_share_threshold,
    beats_for,
    leaves_for_count,
    leaves_for_share,
    share_at_mean,
    thresholds_of,
)

PRECISIONS = (Decimal("0.10"), Decimal("0.25"), Decimal("0.50"))
USUAL_PRECISION = Decimal("0.25")  # standard error as a part of the mean: common practice
# Of Taylor's law; near the 23 leaves by count at 5 mites a leaf [JEE-106-4]; this project's choice.
TAYLOR_A, TAYLOR_B = 3.0, 1.5
MEAN_UNKNOWN = 5.0  # pests a leaf, where nothing was counted and no threshold is known
MARGIN = 0.15  # of a share, to either side; this project's choice
PLANTS_OF = {PlantGroup.ROSE: "roses", PlantGroup.CONIFER: "conifers"}


@dataclass(frozen=True, slots=True)
class Plan:
    """How to look: leaves to count, leaves for presence or absence, plants to beat.

    mean: pests a leaf that are expected, and the count or threshold it is taken from
    """

    pest: Pest
    precision: Decimal
    mean: float
    mean_from: str
    leaves: int
    leaves_for_presence: int
    margin_percent: int
    confidence_percent: int
    plants_beaten: int
    beats_each: int


def plan_for(
    planting: Planting,
    pest: Pest,
    last: ScoutingCount | None,
    precision: Decimal = USUAL_PRECISION,
) -> Plan:
    """Return how many leaves and beats it takes on a planting for a precision."""
    mean, mean_from = _expected_mean(planting, pest, last)
    beats = beats_for(planting.plants)
    return Plan(
        pest=pest,
        precision=precision,
        mean=mean,
        mean_from=mean_from,
        leaves=leaves_for_count(mean, float(precision), TAYLOR_A, TAYLOR_B),
        leaves_for_presence=leaves_for_share(share_at_mean(mean, TAYLOR_A, TAYLOR_B), MARGIN),
        margin_percent=round(100 * MARGIN),
        confidence_percent=round(100 * CONFIDENCE),
        plants_beaten=beats["plants"],
        beats_each=beats["beats_each"],
    )


def _expected_mean(planting: Planting, pest: Pest, last: ScoutingCount | None) -> tuple[float, str]:
    if last is not None and last.motiles_per_leaf():
        return last.motiles_per_leaf(), "count"
    level, _source = threshold_for(pest, planting)
    return (level, "threshold") if level else (MEAN_UNKNOWN, "nothing")


def threshold_for(pest: Pest, planting: Planting) -> tuple[float | None, str]:
    """Return from how many a leaf treating pays, and who says so: the firm first, then the table.

    A level by the beat is no level a leaf, so it is not taken; None where none is known.
    """
    if pest.threshold is not None:
        return float(pest.threshold), pest.threshold_source or "common practice"
    for level in known_levels(pest, planting):
        if level.unit is Unit.LEAF:
            return level.level, level.source
    return None, ""


def known_levels(pest: Pest, planting: Planting) -> list[Threshold]:
    """Return the levels of the table that are for such plants."""
    plants = _plants_of(planting)
    return [level for level in thresholds_of(pest.common_name) if level.plants == plants]


def _plants_of(planting: Planting) -> str:
    if planting.species.casefold().startswith("buxus"):
        return "boxwood"
    return PLANTS_OF.get(PlantGroup(planting.plant_group), "deciduous shrubs")


def presence_told(count: ScoutingCount, planting: Planting) -> Finding | None:
    """Return on which side of the threshold the infested leaves of a count stand.

    The level a leaf becomes a share of infested leaves by Taylor's law; None without a level.
    """
    level, _source = threshold_for(count.pest, planting)
    if not level:
        return None
    share = _share_at(level)
    return against_share_threshold(count.leaves_infested, count.leaves_looked_at, share)


@cache
def _share_at(level: float) -> float:
    return share_at_mean(level, TAYLOR_A, TAYLOR_B)


def last_of(counts: Sequence[ScoutingCount], pest: Pest) -> ScoutingCount | None:
    """Return the last count of a pest among counts in order."""
    return next((count for count in reversed(counts) if count.pest_id == pest.pk), None)
