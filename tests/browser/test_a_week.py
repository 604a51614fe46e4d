"""A week of forty properties in a real browser: planned, a day lost to the wind, planned anew.

The same is done with the scripts of the pages and without them.
"""

from copy import copy
from datetime import datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from urllib.parse import urlsplit

import icalendar
import pytest
from pypdf import PdfReader

from clients.access import Role
from clients.models import Client
from services.courses import put_on
from services.models import Crew, Dispatch, Hold, HourlyForecast, Planning, Visit
from services.plannings import run_planning
from tests.book import MONDAY, NOW, put_in_store
from tests.browser.conftest import DESK, PHONE, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TUESDAY = MONDAY + timedelta(days=1)
WEEK = f"/week/{MONDAY:%G-W%V}/"
PROPERTIES = 40
NEVER_LOADED_AGAIN = "document.documentElement.dataset.since = 'the beginning'"
IS_THE_SAME = "document.documentElement.dataset.since === 'the beginning'"


@pytest.fixture
def forty(book, rose_bed, sprayer, three_weeks):
    """Forty more properties, each with a bed of roses that is due on a day of this week."""
    owner = book.people[Role.OWNER]
    put_in_store(three_weeks.weeks.get(week=1).product, "S-2", owner)
    for crew in Crew.objects.all():
        crew.truck.sprayers.add(sprayer)
    client = Client.objects.create(name="Forty Gardens", email="forty@example.org")
    for number in range(PROPERTIES):
        put_on(
            rotation=three_weeks,
            plantings=[bed_like(rose_bed, client, number)],
            first_day=MONDAY + timedelta(days=number % 5),
            by=owner,
            today=MONDAY,
        )
    return Visit.objects.filter(course__property__client=client, rotation_week__week=1)


def bed_like(bed, client, number):
    """Return the same bed at a property of its own, a mile or so from the next."""
    place, twin = copy(bed.property), copy(bed)
    place.pk, place.client, place.name = None, client, f"Garden {number + 1}"
    place.latitude = Decimal("40.20") + Decimal(number % 8) / 100
    place.longitude = Decimal("-74.86") + Decimal(number // 8) / 50
    place.save(force_insert=True)
    twin.pk, twin.property = None, place
    twin.save(force_insert=True)
    return twin


def tell_of_wind(yard):
    """Tell of twenty miles an hour on all of Tuesday, where labels allow ten at most."""
    midnight = datetime.combine(TUESDAY, time(), yard.zone())
    HourlyForecast.objects.bulk_create(
        HourlyForecast(
            yard=yard,
            starts_at=midnight + timedelta(hours=hour),
            source=HourlyForecast.Source.PERSON,
            fetched_at=NOW,
            wind_mph=Decimal(20),
        )
        for hour in range(24)
    )


class Follower:
    """Somebody before a page that follows a plan in the making, with scripts or without."""

    def __init__(self, page, scripts):
        self.page, self.scripts = page, scripts

    def reads(self, words):
        """Say whether the page comes to show words: by itself, or when it is looked at again."""
        if not self.scripts:
            self.page.click("main a.act")
            return words in self.page.inner_text("main")
        self.page.wait_for_selector(f"main :text({words!r})", timeout=60_000)
        return self.page.evaluate(IS_THE_SAME)

    def sees_planned(self):
        """Let a worker make the plan, and see that the page tells how far it is."""
        row = Planning.objects.latest("pk")
        assert self.page.url.endswith(f"/plannings/{row.pk}/")
        if self.scripts:
            self.page.evaluate(NEVER_LOADED_AGAIN)
        Planning.objects.filter(pk=row.pk).update(step=7, steps=20)
        assert self.reads("Step 7 of 20.")
        assert run_planning(row.pk)


def calendar_of(page, address):
    """Return the events of the calendar at an address, by their names."""
    answer = page.request.get(urlsplit(address).path)
    events = icalendar.Calendar.from_ical(answer.body()).walk("VEVENT")
    return {event["UID"]: event for event in events}


def confirmed(events, day):
    """Return the names of the events of a day that are to be made."""
    return {
        uid
        for uid, event in events.items()
        if event.decoded("DTSTART").date() == day and event["STATUS"] == "CONFIRMED"
    }


@pytest.mark.parametrize(
    ("scripts", "width"),
    [
        (True, DESK),
        # Without scripts the book is asked the same.
        pytest.param(False, PHONE, marks=pytest.mark.once),
    ],
)
def test_a_week_of_forty_properties_is_planned_and_planned_anew(scripts, width, window, forty):
    page = window(width, scripts=scripts)
    follower = Follower(page, scripts)
    crew = Crew.objects.get(name="Crew one")
    sign_in(page, "dispatcher")

    page.goto(WEEK)
    assert page.locator("input[name=visit]").count() >= PROPERTIES
    page.click("text=Dispatch them while I do something else")
    follower.sees_planned()
    assert follower.reads("The week is dispatched.")
    assert not forty.filter(dispatch__isnull=True).exists()

    page.goto(f"/crews/{crew.pk}/feeds/")
    page.click("text=Make an address")
    address = page.input_value("main input[readonly] >> nth=0")
    before = calendar_of(page, address)
    lost = confirmed(before, TUESDAY)
    assert lost

    tell_of_wind(crew.yard)
    page.goto(WEEK)
    assert "Every hour that is open for spraying is forecast unfit: wind." in page.inner_text(
        "main"
    )
    page.click("text=The whole day is lost: plan it anew")
    assert page.is_checked("input[name=what][value=day]")
    assert page.input_value("input[name=first]") == TUESDAY.isoformat()
    page.click("main button.act")
    follower.sees_planned()
    assert follower.reads("Promised days stay")
    assert Dispatch.objects.filter(day=TUESDAY).exists()
    page.click("text=Choose “Promised days stay”")
    assert "This is the plan now." in page.inner_text("body")
    assert not Dispatch.objects.filter(day=TUESDAY).exists()

    windy = crew.dispatches.filter(day__gt=TUESDAY).earliest("day").visits.first()
    page.goto(f"/visits/{windy.pk}/hold/")
    page.select_option("select[name=reason]", Hold.Reason.WIND)
    page.click("main button.act")
    assert "The visit is held" in page.inner_text("body")

    paper = PdfReader(BytesIO(page.request.get(f"{WEEK}sheets.pdf").body()))
    stops = Visit.objects.filter(dispatch__day__gte=MONDAY).count()
    assert len(paper.pages) >= stops

    after = calendar_of(page, address)
    assert not confirmed(after, TUESDAY)
    assert all(after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"] for uid in lost)
    (held,) = (event for uid, event in after.items() if uid.startswith(f"visit-{windy.pk}-"))
    assert held["STATUS"] == "CANCELLED"


def test_the_map_shows_the_stops_by_number_and_asks_nobody_else(window, book):
    page, asked = window(), []
    page.on("request", lambda request: asked.append(urlsplit(request.url).hostname))
    sign_in(page, "dispatcher")

    page.goto(f"/day/{MONDAY.isoformat()}/")
    page.wait_for_selector("#map .stop")

    marks = {each.inner_text() for each in page.query_selector_all("#map .stop .sign")}
    listed = {each.inner_text() for each in page.query_selector_all("ol.stops b")}
    assert listed
    assert marks == listed | {"◆"}
    assert set(asked) == {urlsplit(page.url).hostname}


def test_the_list_beside_the_map_leads_to_a_stop_by_keys(window, book):
    page = window()
    sign_in(page, "dispatcher")
    page.goto(f"/day/{MONDAY.isoformat()}/")
    shows = page.locator("ol.stops button").first
    shows.wait_for()

    shows.focus()
    page.keyboard.press("Enter")

    mark = page.locator("ol.stops b").first.inner_text()
    assert page.locator("#map .leaflet-tooltip").first.inner_text().startswith(mark)


def test_without_scripts_the_list_stands_alone(window, book):
    page = window(PHONE, scripts=False)
    sign_in(page, "dispatcher")

    page.goto(f"/day/{MONDAY.isoformat()}/")

    assert page.locator("#map").is_hidden()
    assert page.locator("ol.stops li a").first.is_visible()
