"""From an empty book to the first visit sheet, by what the pages themselves offer."""

import io

import pytest
from pypdf import PdfReader

from services.models import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]

PASSWORD = "one long password to test with"
OWNER = {
    "first_name": "Alba",
    "last_name": "Ferreira",
    "username": "alba",
    "password": PASSWORD,
    "again": PASSWORD,
}
PLACE = {"latitude": "40.24", "longitude": "-74.84"}
SITE = {"street": "2 Elm Street", "city": "Yardley", "postal_code": "19067", "jurisdiction": "PA"}
BED = {
    "name": "Rose bed",
    "common_name": "shrub rose",
    "species": "Rosa",
    "plant_group": "rose",
    "habit": "bed",
    "length_ft": "20",
    "width_ft": "6",
}
CERTIFICATE = {
    "number": "BU-77",
    "jurisdiction": "Pennsylvania",
    "categories": "ornamental and turf",
    "expires_on": "2027-12-31",
}
LABEL = {
    "name": "Invented Soap",
    "epa_registration_number": "0-901",
    "signal_word": "CAUTION",
    "reentry_hours": "12",
    "minimum_interval_days": "5",
    "contents-0-ingredient": "insecticidal soap (potassium salts of fatty acids)",
    "contents-0-percent_by_weight": "49",
    "rates-0-plant_group": "rose",
    "rates-0-minimum": "2.5",
    "rates-0-maximum": "5",
    "rates-0-basis": "fl oz/gal",
    "rates-0-gallons_per_1000_sq_ft": "5",
}
CREW = {"name": "North", "shift_starts": "07:00", "shift_ends": "20:00"}


@pytest.fixture
def page(now, window):
    """A window in which nobody has signed in; there is nobody who could."""
    return window()


def fill(page, told):
    """Fill fields of the page by their names; a choice by its value or its words."""
    for name, value in told.items():
        field = page.locator(f"main [name='{name}']").first
        if field.evaluate("field => field.tagName") == "SELECT":
            listed = field.evaluate("field => [...field.options].map(each => each.value)")
            field.select_option(value) if value in listed else field.select_option(label=value)
        else:
            field.fill(value)


def keep(page, told, act="Keep"):
    """Fill a form and press its button; whatever is wrong with it fails the test."""
    fill(page, told)
    page.click(f"main form button:has-text('{act}') >> nth=0")
    page.wait_for_load_state()
    assert page.locator(".problems").all_inner_texts() == []


def take(page, step):
    """Follow a step of the first page."""
    page.goto("/week/")
    page.click(f"ol.steps a:has-text('{step}')")


def follow(page, words):
    page.click(f"main a:has-text('{words}') >> nth=0")


def enter_people(page):
    take(page, "Enter the yard")
    keep(page, {"name": "Mill Yard", "address": "1 Mill Lane", **PLACE})
    take(page, "Enter a crew")
    page.get_by_label("Alba Ferreira").check()
    for day in range(6):
        page.check(f"[name=weekdays][value='{day}']")
    keep(page, {**CREW, "yard": "Mill Yard"})
    take(page, "Enter those who apply")
    follow(page, "Enter an applicator")
    keep(page, {"name": "Alba Ferreira", "user": "alba"})
    follow(page, "Enter a certificate")
    keep(page, CERTIFICATE)


def enter_store(page):
    take(page, "Enter the sprayers")
    follow(page, "Enter a sprayer")
    keep(page, {"name": "Backpack 1", "kind": "backpack", "tank_gallons": "4", "reach_ft": "10"})
    take(page, "Enter the truck")
    page.get_by_label("Backpack 1").check()
    keep(page, {"name": "Truck 1", "crew": "North", "water_gallons": "30"})
    take(page, "Copy the labels")
    follow(page, "Enter a product")
    keep(page, LABEL, "Keep the label")
    take(page, "Receive the lots")
    follow(page, "Enter a delivery")
    received = {"product": "Invented Soap", "lot_number": "HS-1", "amount": "128"}
    keep(page, {**received, "expires_on": "2027-10-01"}, "Put it into the store")


def enter_client(page):
    take(page, "Take in a client")
    follow(page, "client")
    keep(page, {"name": "Ada Fenn", "email": "ada@example.org"})
    keep(page, {"name": "Fenn house", **SITE, **PLACE})
    keep(page, BED)


def put_a_rotation_on(page):
    take(page, "Compose a rotation")
    follow(page, "Compose")
    fill(page, {"name": "Soap", "pest": "two-spotted spider mite", "plant_group": "rose"})
    for week in range(3):
        told = {"product": "Invented Soap", "rate": "2.5", "basis": "fl oz/gal"}
        fill(page, {f"weeks-{week}-{name}": value for name, value in told.items()})
    keep(page, {}, "Keep the rotation")
    follow(page, "Put it on plantings")
    page.get_by_label("Rose bed").check()
    keep(page, {}, "See what stands against it")
    keep(page, {}, "Put it on")


def test_an_empty_book_leads_to_the_first_visit_sheet(page):
    page.goto("/")
    keep(page, OWNER, "Begin the book")
    keep(page, {"name": "Ferreira Gardens", "city": "Yardley", "region": "PA"})
    enter_people(page)
    enter_store(page)
    enter_client(page)
    put_a_rotation_on(page)

    page.goto("/week/")
    page.check("input[name=visit]")
    page.click("button:has-text('Dispatch the chosen rows')")
    page.wait_for_load_state()

    assert "1 visit has a crew" in page.inner_text("body")
    assert Visit.objects.filter(dispatch__crew__name="North").count() == 1
    way = page.locator("a:has-text('Visit sheets of the week')").get_attribute("href")
    sheets = PdfReader(io.BytesIO(page.request.get(way).body()))
    text = " ".join(sheet.extract_text() for sheet in sheets.pages)
    assert "Ada Fenn" in text
    assert "0-901" in text
    assert "HS-1" in text
