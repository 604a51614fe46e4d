"""How a population of two-spotted mites grows, what visits do to it, and where it is heading."""

from treatments.rules.population.comparing import (
    Comparison,
    RetreatWindow,
    retreat_heat,
    retreat_window,
    what_if,
)
from treatments.rules.population.course import Band, StageCounts
from treatments.rules.population.forecast import Forecast, ForecastDay, Stage, forecast
from treatments.rules.population.growth import (
    StageShares,
    daily_growth,
    doubling_heat,
    fit_growth,
    fit_growth_factor,
    generation_heat,
    growth_rate,
    stable_stages,
)
from treatments.rules.population.parameters import (
    MITE_HEAT,
    OUTDOORS,
    TWO_SPOTTED,
    CountUnusable,
    GrowthFactor,
    Mite,
)
from treatments.rules.population.visits import (
    Kill,
    Treatment,
    combined,
    kill_of,
    repeated,
    slipped,
)

__all__ = [
    "MITE_HEAT",
    "OUTDOORS",
    "TWO_SPOTTED",
    "Band",
    "Comparison",
    "CountUnusable",
    "Forecast",
    "ForecastDay",
    "GrowthFactor",
    "Kill",
    "Mite",
    "RetreatWindow",
    "Stage",
    "StageCounts",
    "StageShares",
    "Treatment",
    "combined",
    "daily_growth",
    "doubling_heat",
    "fit_growth",
    "fit_growth_factor",
    "forecast",
    "generation_heat",
    "growth_rate",
    "kill_of",
    "repeated",
    "retreat_heat",
    "retreat_window",
    "slipped",
    "stable_stages",
    "what_if",
]
