"""The visit sheet: a page for the crew's day, then one page a stop."""

from services.sheets.pages import bind
from services.sheets.visit_sheet.crew_day import crew_day_page
from services.sheets.visit_sheet.facts import (
    Asked,
    CrewDay,
    EmergencyContacts,
    Leaving,
    Limits,
    LoadLine,
    Mix,
    Person,
    Protection,
    SignLine,
    Stop,
    StopPlace,
    StopProduct,
    StopTarget,
    Tank,
    VisitSheets,
)
from services.sheets.visit_sheet.stop import stop_page
from services.sheets.words import words_in

__all__ = [
    "Asked",
    "CrewDay",
    "EmergencyContacts",
    "Leaving",
    "Limits",
    "LoadLine",
    "Mix",
    "Person",
    "Protection",
    "SignLine",
    "Stop",
    "StopPlace",
    "StopProduct",
    "StopTarget",
    "Tank",
    "VisitSheets",
    "draw_visit_sheets",
]


def draw_visit_sheets(sheets: VisitSheets) -> bytes:
    """Return a crew's paper for a day as a PDF; the same sheets always give the same bytes."""
    _ = words_in(sheets.imprint.language)
    story = crew_day_page(sheets)
    for number, stop in enumerate(sheets.stops, start=1):
        story += stop_page(stop, number, sheets)
    title = _("Visit sheets of %(crew)s") % {"crew": sheets.day.crew}
    return bind(story, sheets.imprint, title)
