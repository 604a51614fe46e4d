"""Drawings, composed once: vector in the PDFs, SVG text on the pages."""

from services.sheets.charts.day import (
    ACCESS,
    DUSK,
    WEATHER,
    DayRun,
    RunStop,
    Window,
    day_figure,
)
from services.sheets.charts.hours import (
    Hours,
    Strip,
    hours_figure,
    hours_in_words,
    small_hours_figure,
)
from services.sheets.charts.pen import Figure
from services.sheets.charts.plan import plan_figure
from services.sheets.charts.planting import PlantingShape, planting_figure
from services.sheets.charts.season import (
    Count,
    Expected,
    Season,
    Span,
    Treatment,
    height_for,
    season_figure,
)
from services.sheets.charts.svg import as_svg

__all__ = [
    "ACCESS",
    "DUSK",
    "WEATHER",
    "Count",
    "DayRun",
    "Expected",
    "Figure",
    "Hours",
    "PlantingShape",
    "RunStop",
    "Season",
    "Span",
    "Strip",
    "Treatment",
    "Window",
    "as_svg",
    "day_figure",
    "height_for",
    "hours_figure",
    "hours_in_words",
    "plan_figure",
    "planting_figure",
    "season_figure",
    "small_hours_figure",
]
