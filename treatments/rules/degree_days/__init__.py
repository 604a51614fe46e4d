"""Heat in degree-days: of a day, of a season, and the days on which a pest will have had enough."""

from treatments.rules.degree_days.one_day import (
    Cutoff,
    HeatModel,
    Method,
    Scale,
    TemperatureUnusable,
    celsius_degree_days,
    degree_days,
    fahrenheit_degree_days,
    heat_above,
    share_above,
)
from treatments.rules.degree_days.reaching import (
    Mark,
    day_reaching,
    days_at,
    generation_days,
    hatch_day,
    next_heat,
)
from treatments.rules.degree_days.season import (
    DayTemperature,
    HeatDay,
    HeatSum,
    WeatherMissing,
    carried_on,
    fill_missing,
    heat_of_days,
    sum_heat,
)

__all__ = [
    "Cutoff",
    "DayTemperature",
    "HeatDay",
    "HeatModel",
    "HeatSum",
    "Mark",
    "Method",
    "Scale",
    "TemperatureUnusable",
    "WeatherMissing",
    "carried_on",
    "celsius_degree_days",
    "day_reaching",
    "days_at",
    "degree_days",
    "fahrenheit_degree_days",
    "fill_missing",
    "generation_days",
    "hatch_day",
    "heat_above",
    "heat_of_days",
    "next_heat",
    "share_above",
    "sum_heat",
]
