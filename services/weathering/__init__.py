"""The weather: fetched cell by cell, entered by hand, and known for as long as it is fresh."""

from services.weathering.entering import enter_forecast
from services.weathering.errands import fetch_forecast, find_cell, sweep_forecasts
from services.weathering.knowing import FRESH_FOR, NEAR_MILES, Forecasts, Outlook, forecasts_at
from services.weathering.points import visited_soon
from services.weathering.visits import (
    HoldAdvised,
    VisitSky,
    closed_by_weather,
    hold_advised,
    load_labels,
    sky_of,
)

__all__ = [
    "FRESH_FOR",
    "NEAR_MILES",
    "Forecasts",
    "HoldAdvised",
    "Outlook",
    "VisitSky",
    "closed_by_weather",
    "enter_forecast",
    "fetch_forecast",
    "find_cell",
    "forecasts_at",
    "hold_advised",
    "load_labels",
    "sky_of",
    "sweep_forecasts",
    "visited_soon",
]
