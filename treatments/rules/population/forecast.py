"""Where a count of two-spotted mites is heading, day by day, with what visits are planned.

The expected line is the likeliest parameters'; the band holds four in five of the draws.  Each
day is told as it is in the morning, before a visit; mite-days count the mites from after a visit
to the next morning.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np

from treatments.rules.degree_days import HeatDay
from treatments.rules.findings import Finding
from treatments.rules.population.cautions import how_sure, what_to_mind, what_worsens
from treatments.rules.population.course import (
    BAND,
    DRAWS,
    Band,
    Course,
    StageCounts,
    band_of,
    run_course,
)
from treatments.rules.population.parameters import OUTDOORS, GrowthFactor
from treatments.rules.population.visits import Treatment


class Stage(StrEnum):
    """What a forecast tells apart; adults are females, motiles all that are no eggs."""

    EGGS = "eggs"
    LARVAE = "larvae"
    NYMPHS = "nymphs"
    ADULTS = "adults"
    MOTILES = "motiles"


@dataclass(frozen=True, slots=True)
class ForecastDay:
    """The mites on the morning of a day, a leaf or a beat as counted; heat as it is known."""

    day: date
    levels: Mapping[Stage, Band]
    heat: float
    heat_is_forecast: bool
    heat_is_filled: bool
    treated_with: tuple[str, ...] = ()

    @property
    def motiles(self) -> Band:
        """The moving mites."""
        return self.levels[Stage.MOTILES]


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a count becomes: the days, the mite-days in all, how sure that is, and what to mind."""

    days: tuple[ForecastDay, ...]
    mite_days: Band
    growth: GrowthFactor
    sureness: Finding
    cautions: tuple[Finding, ...]

    def first_day_over(self, threshold: float) -> date | None:
        """Return the first day on which the expected moving mites reach a threshold."""
        over = (each.day for each in self.days if each.motiles.expected >= threshold)
        return next(over, None)


def forecast(
    counts: StageCounts,
    days: Sequence[HeatDay],
    treatments: Sequence[Treatment] = (),
    *,
    growth: GrowthFactor = OUTDOORS,
    draws: int = DRAWS,
    seed: int = 1,
    most_motiles: float | None = None,
) -> Forecast:
    """Return where two-spotted mites are heading from the first of some days on.

    counts: a leaf, or a beat, on the morning of the first day
    days: heat by MITE_HEAT, without gaps, at most LONGEST_DAYS; the forecast ends a day after
    treatments: visits planned and kept; those before the first day act by their residue alone
    growth: from fit_growth of two untreated counts, or what is usual outdoors
    most_motiles: moving mites a leaf at which crowding stops the laying; None leaves it out

    Raise CountUnusable where nothing was counted that could be forecast.
    """
    course = run_course(
        counts, days, treatments, growth=growth, draws=draws, seed=seed, most_motiles=most_motiles
    )
    told = tuple(_told_days(course, days, treatments))
    acting = [each for each in treatments if each.acts_from(days[0].day)]
    mite_days = band_of(course.mite_days)
    return Forecast(
        days=told,
        mite_days=mite_days,
        growth=growth,
        sureness=how_sure(told[-1].motiles.low, told[-1].motiles.high),
        cautions=(
            *what_worsens(told[0].motiles.expected, told[-1].motiles.expected, acting),
            *what_to_mind(days, growth),
        ),
    )


def _told_days(
    course: Course, days: Sequence[HeatDay], treatments: Sequence[Treatment]
) -> list[ForecastDay]:
    expected = course.levels[:, :, 0]
    low, high = np.percentile(course.levels[:, :, 1:], BAND, axis=2)
    low, high = np.minimum(low, expected), np.maximum(high, expected)
    last = days[-1].day + timedelta(days=1)
    mornings = [*days, HeatDay(last, 0.0, days[-1].total, days[-1].forecast)]
    return [
        ForecastDay(
            day=morning.day,
            levels={
                stage: Band(*(float(part[number, row]) for part in (expected, low, high)))
                for row, stage in enumerate(Stage)
            },
            heat=morning.heat,
            heat_is_forecast=morning.forecast,
            heat_is_filled=morning.filled,
            treated_with=tuple(each.product for each in treatments if each.day == morning.day),
        )
        for number, morning in enumerate(mornings)
    ]
