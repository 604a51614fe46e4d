"""From an empty book to the first visit sheet, by what the pages themselves offer.

What it takes of a person is counted on the way. The time is reckoned from the counts by the
keystroke-level model of Card, Moran and Newell (Communications of the ACM 23, 1980; its seconds
from memory): it knows hands and eyes that know the way, and no reading of a label or a map.
"""

import io

import pytest
from pypdf import PdfReader

from services.models import Visit

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.once,  # what a person has to do is the same whatever keeps it
    pytest.mark.django_db(transaction=True),
]

# Seconds: a key of somebody who is no typist, a button of a mouse, pointing at something, a hand
# between mouse and keys, making up one's mind.
KEY, BUTTON, POINTING, HAND, MIND = 0.28, 0.2, 1.1, 0.4, 1.35
MOST_MINUTES = 15

PASSWORD = "one long password to test with"
OWNER = {
    "first_name": "Alba",
    "last_name": "Ferreira",
    "username": "alba",
    "password": PASSWORD,
    "again": PASSWORD,
}
BUSINESS = {
    "name": "Ferreira Gardens",
    "street": "1 Mill Lane",
    "city": "Yardley",
    "region": "PA",
    "postal_code": "19067",
}
BY_THE_MAP = {"latitude": "40.24, -74.84"}
CLIENT = {
    "name": "Ada Fenn",
    "email": "ada@example.org",
    "street": "2 Elm Street",
    "city": "Yardley",
    "region": "PA",
    "postal_code": "19067",
}
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
SPRAYER = {"name": "Backpack 1", "kind": "backpack", "tank_gallons": "4"}


class Newcomer:
    """Somebody new at the book, with what it takes: keys, fields, choices, and things pressed."""

    def __init__(self, page):
        self.page = page
        self.keys = self.fields = self.choices = self.presses = 0

    def fill(self, told):
        """Fill fields of the page by their names; a choice by its value or its words."""
        for name, value in told.items():
            field = self.page.locator(f"main [name='{name}']").first
            if field.evaluate("field => field.tagName") == "SELECT":
                listed = field.evaluate("field => [...field.options].map(each => each.value)")
                field.select_option(value) if value in listed else field.select_option(label=value)
                self.choices += 1
            else:
                field.fill(value)
                self.fields += 1
                self.keys += len(value)

    def press(self, what):
        """Press what is to be seen."""
        what.click()
        self.presses += 1
        self.page.wait_for_load_state()

    def keep(self, told, act="Keep"):
        """Fill a form and press its button; whatever is wrong with it fails the test."""
        self.fill(told)
        self.press(self.page.locator(f"main form button:has-text('{act}')").first)
        assert self.page.locator(".problems").all_inner_texts() == []

    def take(self, step):
        """Follow a step of the first page, which the name of the business opens."""
        if "/week/" not in self.page.url:
            self.press(self.page.locator(".business a"))
        self.press(self.page.locator(f"ol.steps a:has-text('{step}')"))

    def follow(self, words):
        """Follow a link of the page."""
        self.press(self.page.locator(f"main a:has-text('{words}')").first)

    def minutes(self):
        """Return the time it takes by the keystroke-level model."""
        press = MIND + HAND + POINTING + BUTTON + HAND
        typed = (MIND + KEY) * self.fields + KEY * self.keys
        return (typed + press * self.presses + (press + POINTING + BUTTON) * self.choices) / 60


@pytest.fixture
def newcomer(now, window):
    """Somebody at a window in which nobody has signed in; there is nobody who could."""
    return Newcomer(window())


def enter_people(newcomer):
    newcomer.take("Enter the yard")
    newcomer.keep({"name": "Mill Yard", **BY_THE_MAP})
    newcomer.take("Enter a crew")
    newcomer.keep({"name": "North"})
    newcomer.take("Enter those who apply")
    newcomer.keep({})
    newcomer.follow("Enter a certificate")
    newcomer.keep(CERTIFICATE)


def enter_store(newcomer):
    newcomer.take("Enter the sprayers")
    newcomer.keep(SPRAYER)
    newcomer.take("Enter the truck")
    newcomer.keep({"name": "Truck 1", "water_gallons": "30"})
    newcomer.take("Copy the labels")
    newcomer.follow("Enter a product")
    newcomer.keep(LABEL, "Keep the label")
    newcomer.take("Receive the lots")
    received = {"lot_number": "HS-1", "amount": "128"}
    newcomer.keep({**received, "expires_on": "2027-10-01"}, "Put it into the store")


def enter_client(newcomer):
    newcomer.take("Take in a client")
    newcomer.keep(CLIENT)
    newcomer.keep(BY_THE_MAP)
    newcomer.keep(BED)


def put_a_rotation_on(newcomer):
    newcomer.take("Compose a rotation")
    rotation = {"name": "Soap", "pest": "two-spotted spider mite", "plant_group": "rose"}
    for week in range(3):
        told = {"product": "Invented Soap", "rate": "2.5"}
        rotation |= {f"weeks-{week}-{name}": value for name, value in told.items()}
    newcomer.keep(rotation, "Keep the rotation")
    newcomer.follow("Put it on plantings")
    newcomer.press(newcomer.page.get_by_label("Rose bed"))
    newcomer.keep({}, "See what stands against it")
    newcomer.keep({}, "Put it on")


def dispatch(newcomer):
    newcomer.press(newcomer.page.locator(".business a"))
    newcomer.press(newcomer.page.locator("input[name=visit]").first)
    newcomer.press(newcomer.page.locator("button:has-text('Dispatch the chosen rows')"))


def test_an_empty_book_leads_to_the_first_visit_sheet(newcomer):
    newcomer.page.goto("/")
    newcomer.keep(OWNER, "Begin the book")
    newcomer.keep(BUSINESS)
    enter_people(newcomer)
    enter_store(newcomer)
    enter_client(newcomer)
    put_a_rotation_on(newcomer)

    dispatch(newcomer)

    page = newcomer.page
    assert "1 visit has a crew" in page.inner_text("body")
    assert Visit.objects.filter(dispatch__crew__name="North").count() == 1
    way = page.locator("a:has-text('Visit sheets of the week')").get_attribute("href")
    sheets = PdfReader(io.BytesIO(page.request.get(way).body()))
    text = " ".join(sheet.extract_text() for sheet in sheets.pages)
    assert "Ada Fenn" in text
    assert "0-901" in text
    assert "HS-1" in text
    assert newcomer.minutes() < MOST_MINUTES
