"""The run of a forecast: from counts, through heat and visits, all draws side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from treatments.rules.degree_days import HeatDay
from treatments.rules.population.development import Boxes, develop, ring_of
from treatments.rules.population.growth import eggs_per_heat, stable_boxes
from treatments.rules.population.parameters import (
    OUTDOORS,
    CountUnusable,
    Drawn,
    GrowthFactor,
    Mite,
    drawn_growth,
    drawn_mite,
)
from treatments.rules.population.visits import (
    COVERAGE,
    COVERAGE_LEAST,
    COVERAGE_MOST,
    Treatment,
    laying_on,
    survival_on,
)

DRAWS = 200
LONGEST_DAYS = 366
BAND = (10, 90)  # per cent of the draws below either end


@dataclass(frozen=True, slots=True)
class Band:
    """The expected figure and the band around it that holds four in five of the draws."""

    expected: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class StageCounts:
    """What was counted, a leaf or a beat; None where a stage was not counted.

    motiles: all moving mites together, where their stages were not told apart
    """

    eggs: float | None = None
    larvae: float | None = None
    nymphs: float | None = None
    adults: float | None = None
    motiles: float | None = None

    @property
    def stages(self) -> tuple[float | None, ...]:
        """The counts of eggs, larvae, nymphs and adults."""
        return self.eggs, self.larvae, self.nymphs, self.adults


@dataclass(frozen=True, slots=True)
class Course:
    """The raw run of a forecast: motile and stage levels and mite-days, one column a draw."""

    levels: npt.NDArray[np.float64]  # days by five stages by draws
    mite_days: npt.NDArray[np.float64]


def run_course(
    counts: StageCounts,
    days: Sequence[HeatDay],
    treatments: Sequence[Treatment],
    *,
    growth: GrowthFactor = OUTDOORS,
    draws: int = DRAWS,
    seed: int = 1,
    most_motiles: float | None = None,
) -> Course:
    """Return the course of the expected parameters (the first column) and of each draw.

    The same seed draws the same parameters, so that two plans are compared like with like.
    """
    _refuse_counts(counts)
    _refuse_days(days, draws)
    chance = np.random.default_rng(seed)
    mite, factor = drawn_mite(draws, chance), drawn_growth(growth, draws, chance)
    covering = _drawn_coverage(draws, chance)
    boxes = _starting_boxes(counts, mite, factor)
    ring = ring_of(mite, eggs_per_heat(mite, factor), draws + 1)
    rows = np.repeat([0, 1, 2, 3, 3], (*mite.boxes, 1))
    levels, mite_days = [_levels(boxes, mite)], np.zeros(draws + 1)
    for each in days:
        boxes *= survival_on(each.day, treatments, covering)[rows]
        after = boxes[mite.boxes[0] :].sum(axis=0)
        develop(boxes, each.heat, ring, laying_on(each.day, treatments, covering), most_motiles)
        levels.append(_levels(boxes, mite))
        mite_days += (after + levels[-1][-1]) / 2
    return Course(np.stack(levels), mite_days)


def band_of(columns: npt.NDArray[np.float64]) -> Band:
    """Return the band of a row of draws, the expected first; it always holds the expected."""
    expected = float(columns[0])
    low, high = (float(end) for end in np.percentile(columns[1:], BAND))
    return Band(expected, min(low, expected), max(high, expected))


def _refuse_counts(counts: StageCounts) -> None:
    told = [part for part in (*counts.stages, counts.motiles) if part is not None]
    if any(part < 0 for part in told):
        raise CountUnusable("A count is zero or more.")
    if not sum(told):
        raise CountUnusable("No mite and no egg was counted, so there is nothing to forecast.")


def _refuse_days(days: Sequence[HeatDay], draws: int) -> None:
    if draws < 1:
        raise CountUnusable("A band is made from one draw or more.")
    if not 1 <= len(days) <= LONGEST_DAYS:
        raise CountUnusable(f"A forecast runs over 1 to {LONGEST_DAYS} days of known heat.")
    if any((later.day - earlier.day).days != 1 for earlier, later in pairwise(days)):
        raise CountUnusable("The days of a forecast follow one another without a gap.")


def _drawn_coverage(draws: int, chance: np.random.Generator) -> Drawn:
    least, most = COVERAGE_LEAST / COVERAGE, COVERAGE_MOST / COVERAGE
    return np.concatenate(([1.0], chance.triangular(least, 1.0, most, draws)))


def _starting_boxes(counts: StageCounts, mite: Mite, factor: Drawn) -> Boxes:
    """Return the boxes scaled to the counts; what was not counted is as in a settled population."""
    boxes = stable_boxes(mite, factor * mite.growth_per_heat)
    stages = _stage_rows(mite)
    scale = _scale_of_uncounted(counts, boxes, mite)
    for rows, counted in zip(stages, counts.stages, strict=True):
        boxes[rows] *= scale if counted is None else counted / boxes[rows].sum(axis=0)
    return boxes


def _scale_of_uncounted(counts: StageCounts, boxes: Boxes, mite: Mite) -> Drawn:
    stages = _stage_rows(mite)
    if counts.motiles is not None:
        return counts.motiles / boxes[mite.boxes[0] :].sum(axis=0)
    pairs = [
        (rows, part) for rows, part in zip(stages, counts.stages, strict=True) if part is not None
    ]
    held = sum(boxes[rows].sum(axis=0) for rows, _ in pairs)
    return sum(part for _, part in pairs) / held


def _stage_rows(mite: Mite) -> tuple[slice, slice, slice, slice]:
    ends = [int(end) for end in np.cumsum(mite.boxes)]
    return slice(0, ends[0]), slice(ends[0], ends[1]), slice(ends[1], ends[2]), slice(ends[2], None)


def _levels(boxes: Boxes, mite: Mite) -> npt.NDArray[np.float64]:
    stages = np.stack([boxes[rows].sum(axis=0) for rows in _stage_rows(mite)])
    return np.vstack([stages, stages[1:].sum(axis=0)])
