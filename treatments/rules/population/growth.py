"""The growth of a population left alone, in closed form at any steady heat.

With stages that are chains of boxes, the offspring of a newly laid egg, discounted at a rate
``r`` a degree-day, are

    f * beta / (r + mu) * product over stages of (1 + (r + h) * K / k) ** -k

with the females' share f, eggs beta laid a degree-day, losses h and mu, heat K and boxes k of a
stage.  At the rate of increase this is 1; at rate 0 it is the number of daughters of a female.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from treatments.rules.degree_days import HeatDay
from treatments.rules.population.parameters import (
    GROWTH_PER_HEAT,
    MITE_HEAT,
    TWO_SPOTTED,
    CountUnusable,
    Drawn,
    GrowthFactor,
    Mite,
)

HALVINGS = 60


@dataclass(frozen=True, slots=True)
class StageShares:
    """How a growing population is made up once it has settled; the parts sum to 1."""

    eggs: float
    larvae: float
    nymphs: float
    females: float

    @property
    def immatures(self) -> float:
        """Larvae and nymphs together."""
        return self.larvae + self.nymphs

    @property
    def motiles(self) -> float:
        """All that are no eggs."""
        return 1 - self.eggs


def offspring(mite: Mite, rate: Drawn, eggs_per_heat: Drawn) -> Drawn:
    """Return the daughters of an egg discounted at a rate; at rate 0 all it will have, R0.

    rate: a degree-day; eggs_per_heat: laid by a female in a degree-day

    >>> round(float(offspring(TWO_SPOTTED, 0.0, 0.46552)), 1)
    38.7
    """
    product: Drawn = 1.0
    for heat, loss, boxes in zip(mite.stage_heats(), mite.loss_per_heat(), mite.boxes, strict=True):
        product = product * (1 + (rate + loss) * heat / boxes) ** -boxes
    lasting = rate + 1 / mite.laying_life_heat
    return mite.female_share * eggs_per_heat / lasting * product


def eggs_per_heat(mite: Mite, growth_factor: Drawn = 1.0) -> Drawn:
    """Return the eggs that a female must lay in a degree-day for the population to grow so.

    growth_factor: times the mite's own growth a degree-day

    >>> round(float(eggs_per_heat(TWO_SPOTTED)), 4)
    0.4655
    """
    return 1 / offspring(mite, growth_factor * mite.growth_per_heat, 1.0)


def growth_rate(mite: Mite, laid_per_heat: float) -> float:
    """Return the rate of increase a degree-day at which such laying lets a population grow.

    laid_per_heat: eggs that a female lays in a degree-day, above 0

    >>> round(growth_rate(TWO_SPOTTED, 0.46552), 4)
    0.016
    """
    if laid_per_heat <= 0:
        raise CountUnusable("A population that lays no eggs has no rate of increase.")
    low, high = -0.9 / float(np.max(mite.laying_life_heat)), 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        grows = bool(offspring(mite, middle, laid_per_heat) > 1)
        low, high = (middle, high) if grows else (low, middle)
    return (low + high) / 2


def generation_heat(mite: Mite = TWO_SPOTTED, growth_factor: float = 1.0) -> float:
    """Return the length of a generation, ln R0 / r, in degree-days.

    >>> round(generation_heat(), 1)
    228.5
    """
    rate = growth_factor * mite.growth_per_heat
    return float(np.log(offspring(mite, 0.0, eggs_per_heat(mite, growth_factor))) / rate)


def doubling_heat(mite: Mite = TWO_SPOTTED, growth_factor: float = 1.0) -> float:
    """Return the heat in which the population doubles, in degree-days.

    >>> round(doubling_heat(), 1)
    43.3
    """
    return float(np.log(2) / (growth_factor * mite.growth_per_heat))


def daily_growth(mean_c: float, mite: Mite = TWO_SPOTTED, growth_factor: float = 1.0) -> float:
    """Return the rate of increase a day at a steady temperature.

    mean_c: degrees Celsius, between the thresholds

    >>> round(daily_growth(15), 3), round(daily_growth(30), 3)
    (0.08, 0.32)
    """
    heat = min(mean_c, MITE_HEAT.upper or mean_c) - MITE_HEAT.lower
    return float(growth_factor * mite.growth_per_heat * max(0.0, heat))


def stable_boxes(mite: Mite, rate: Drawn) -> npt.NDArray[np.float64]:
    """Return what each box holds of a settled population of 1: eggs first, laying females last.

    rate: of increase, a degree-day; with draws, a column for each
    """
    held, inflow = [], np.asarray(1.0)
    heats, losses = mite.stage_heats(), mite.loss_per_heat()
    for stage, boxes in enumerate(mite.boxes):
        outflow = boxes / np.asarray(heats[stage])
        for _ in range(boxes):
            content = inflow / (outflow + losses[stage] + rate)
            held.append(content)
            inflow = content * outflow
        inflow = inflow * mite.female_share if stage == 2 else inflow
    held.append(inflow / (1 / np.asarray(mite.laying_life_heat) + rate))
    content = np.stack(np.broadcast_arrays(*held))
    return content / content.sum(axis=0)


def stable_stages(mite: Mite = TWO_SPOTTED, growth_factor: float = 1.0) -> StageShares:
    """Return the shares of the stages in a settled population without its males.

    >>> shares = stable_stages()
    >>> round(shares.eggs, 3), round(shares.immatures, 3), round(shares.females, 3)
    (0.675, 0.274, 0.051)
    """
    held = stable_boxes(mite, growth_factor * mite.growth_per_heat)
    ends = np.cumsum((0, *mite.boxes[:3]))
    eggs, larvae, nymphs = (float(held[first:end].sum()) for first, end in pairwise(ends))
    return StageShares(eggs, larvae, nymphs, 1 - eggs - larvae - nymphs)


def fit_growth_factor(
    first_per_leaf: float, last_per_leaf: float, heat: float, *, counted: tuple[int, int]
) -> GrowthFactor:
    """Return the growth factor that two untreated counts show.

    first_per_leaf, last_per_leaf: moving mites a leaf, above 0
    heat: degree-days between them, by MITE_HEAT
    counted: mites counted in all at the first and the last count, from which the band is taken;
        mites sit in clumps, so the true error is larger still

    Raise CountUnusable where a count is zero or no heat lies between.

    >>> factor = fit_growth_factor(2, 4.46, 100, counted=(60, 134))
    >>> round(factor.likely, 2)
    0.5
    """
    if min(first_per_leaf, last_per_leaf, *counted) <= 0 or heat <= 0:
        raise CountUnusable("Growth is told from two counts above zero with warm days between.")
    full = GROWTH_PER_HEAT * heat
    likely = float(np.log(last_per_leaf / first_per_leaf) / full)
    spread = 1.28 * float(np.sqrt(1 / counted[0] + 1 / counted[1])) / full  # four in five
    return GrowthFactor(likely - spread, likely, likely + spread, fitted=True)


def fit_growth(
    days: Sequence[HeatDay],
    first: tuple[date, float, int],
    last: tuple[date, float, int],
) -> GrowthFactor:
    """Return the growth factor between two counts with no visit from the first to the last.

    days: heat by MITE_HEAT over the days between
    first, last: the day, the moving mites a leaf, and how many were counted in all
    """
    heat = sum(each.heat for each in days if first[0] <= each.day < last[0])
    return fit_growth_factor(first[1], last[1], heat, counted=(first[2], last[2]))
