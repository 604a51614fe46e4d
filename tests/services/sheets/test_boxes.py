"""Paper stays equal: what the form of a visit asks, the visit sheet has a place for."""

from services.forms.spot import SprayForm
from services.sheets.visit_sheet.facts import Limits
from services.sheets.visit_sheet.measuring import boxes

# Where each field of the form stands on paper; the signature line names who applied.
ON_PAPER = {
    "wind_mph": "Wind",
    "wind_direction": "Wind from",
    "temperature_f": "Temperature",
    "humidity_percent": "Humidity",
    "hours_to_rain": "Rain",
    "started": "Start",
    "ended": "End",
    "lot": "Lot used",
    "posted": "Sign put up",
    "note": "Note",
    "incident": "Note",
    "left": "Note",
    "why_left": "Note",
    "applicator": "Signature",
    "supervisor": "Signature",
    "day": "Date and time",
}
# What is printed on the sheet, or comes of what is written there.
PRINTED = {"sprayer", "worn", "form_id", "which_hour", "from_paper"}
SEEN_OF_THE_SKY = {"signs", "solid_cloud"}  # it advises, and is not kept
PER_PLANTING = {"Product used", "Gallons sprayed"}
SIGNATURE = {"Signature", "Date and time"}


def test_every_field_of_the_form_has_its_place_on_the_sheet():
    asked = set(SprayForm.base_fields) - PRINTED - SEEN_OF_THE_SKY

    assert asked == set(ON_PAPER)


def test_every_box_of_the_sheet_is_a_field_of_the_form():
    drawn = set(boxes(Limits(), str))

    assert drawn | SIGNATURE == set(ON_PAPER.values()) | PER_PLANTING
