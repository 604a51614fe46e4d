"""Mites on roses in July: counted, timed by the heat, met with the least, and looked ahead."""

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser

from services.models import Course, Visit
from tests.filling import send
from tests.journeys.conftest import MONDAYS
from tests.journeys.test_week_three import compose, put_on, said, scout, signed_in
from treatments.models import Rotation, WeatherStation

pytestmark = pytest.mark.django_db

__all__ = ["signed_in"]  # a fixture that the week of the other journey begins with as well


@pytest.fixture
def office(signed_in, dispatcher) -> Browser:
    """The browser of the office."""
    return signed_in(dispatcher)


@pytest.fixture
def owners(signed_in, owner) -> Browser:
    """The browser of the owner, who may compose."""
    return signed_in(owner)


def table_of_june():
    """Return forty days at a mean of 25 C, until the day before the first Monday."""
    first = MONDAYS[0].date() - timedelta(days=40)
    days = (first + timedelta(days=number) for number in range(40))
    return "\n".join(["date,min,max,unit", *(f"{day},67,87,F" for day in days)])


def take_temperatures_in(browser):
    """Enter a station, look at a table that is wrong, and take the right one in."""
    where = {"name": "Yard", "latitude": "40.24", "longitude": "-74.84"}
    browser.post("/weather-stations/new/", where)
    address = f"/weather-stations/{WeatherStation.objects.get().pk}/table/"
    wrong = browser.post(address, {"table": as_file(table_of_june() + "\n2026-07-40,1,2,F")})
    browser.post(address, {"table": as_file(table_of_june())})
    return wrong


def as_file(text):
    return SimpleUploadedFile("june.csv", text.encode(), content_type="text/csv")


def counts_page(browser, bed):
    return said(browser.get(f"/plantings/{bed.pk}/counts/"))


def proposed(page):
    """Return the rung of the ladder that is proposed."""
    rung = re.search(r'aria-current="step">(.*?)</li>', page, re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", rung[1]).split())


def test_mites_are_met_with_the_least_that_will_do(season, office, owners, clock):
    bed = season.beds[0]
    wrong = take_temperatures_in(office)
    scout(office, bed, season.pest)

    page = counts_page(office, bed)

    assert "Row 42, column date" in said(wrong)
    assert WeatherStation.objects.get().days.count() == 40
    # 6 a leaf against the 5 to 10 of common practice: contact sprays first
    assert "Soap or oil. 6 two-spotted spider mite are at or over" in proposed(page)
    # 62 degree-days at 15 a day: five days from the sixth of July on
    assert "have hatched by about Jul\N{NO-BREAK SPACE}10,\N{NO-BREAK SPACE}2026" in page


def test_a_wash_along_with_it_becomes_a_visit(season, office, clock):
    bed = season.beds[0]
    scout(office, bed, season.pest)
    way = re.search(r'href="([^"]+)\?step=wash"', counts_page(office, bed))[1]

    send(office, office.get(f"{way}?step=wash"), "day")

    assert Visit.objects.get().rotation_week.step == "wash"


def test_a_slip_is_looked_at_before_it_happens(season, office, owners, clock):
    take_temperatures_in(office)
    scout(office, season.beds[0], season.pest)
    compose(owners, season)
    put_on(owners, Rotation.objects.get(), season)
    course = Course.objects.get(property=season.beds[0].property)

    planned = said(office.get(f"/courses/{course.pk}/"))
    slipped = {"week": "2", "change": "slip", "days": "5", "later_too": "on"}
    changed = said(office.get(f"/courses/{course.pk}/", slipped))

    assert "Expected on" in planned
    assert "Otherwise on" not in planned
    assert "Otherwise on" in changed
    assert re.search(r"5 days later: about [\d.]+ times the mite-days of the plan", changed)
    assert "never a promise" in changed
