"""The weather: fetched for the yards, entered by hand, and known for as long as it is fresh."""

from services.weathering.entering import enter_forecast
from services.weathering.errands import fetch_forecast, sweep_forecasts
from services.weathering.knowing import FRESH_FOR, Forecasts, Outlook, forecasts_at
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
    "Forecasts",
    "HoldAdvised",
    "Outlook",
    "VisitSky",
    "closed_by_weather",
    "enter_forecast",
    "fetch_forecast",
    "forecasts_at",
    "hold_advised",
    "load_labels",
    "sky_of",
    "sweep_forecasts",
]
