"""Paper stays equal: what the phone asks of a stop, the visit sheet has a box for, and no other."""

import pytest

from services.sheets.visit_sheet.facts import Limits
from services.sheets.visit_sheet.measuring import boxes

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

# Where each field of the phone's form is written on paper; the signature line names who applied.
ON_PAPER = {
    "wind_mph": "Wind",
    "wind_direction": "Wind from",
    "temperature_f": "Temperature",
    "humidity_percent": "Humidity",
    "hours_to_rain": "Rain",
    "started_at": "Start",
    "done_at": "End",
    "product_amount": "Product used",
    "gallons": "Gallons sprayed",
    "tanks_used": "Gallons sprayed",
    "lot": "Lot used",
    "posted_at": "Sign put up",
    "applicator": "Signature",
    "note": "Note",
    "incident": "Note",
    "left": "Note",
    "why": "Note",
    "hold_reason": "Note",
    "hold_note": "Note",
}
# What is printed on the sheet and struck out where it was otherwise, or how the phone reckons.
PRINTED = {"sprayer", "tank", "area", "worn"}
WAYS = {"how"}
ASKED = """() => {
  const own = (each) => each.name || each.dataset.name;
  const asked = "main :is(input, textarea)[name]:not([type=radio]), [data-name]";
  return [...document.querySelectorAll(asked)].map(own);
}"""


def fields_of(phone):
    """Return the names of all that the form asks, whichever way the amount is told."""
    asked = set()
    for way in range(3):
        phone.page.click(f"[data-name=how] .option >> nth={way}")
        asked |= {name.split("-")[0] for name in phone.page.evaluate(ASKED)}
    return asked


def test_each_fact_that_the_phone_asks_has_its_box_on_the_sheet(phone, visit):
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("#keep-it")

    assert fields_of(phone) - PRINTED - WAYS == ON_PAPER.keys()
    assert set(boxes(Limits(), str)) | {"Signature"} == set(ON_PAPER.values())
