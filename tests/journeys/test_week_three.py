"""The main job through the pages: from the first count to the letter after week three."""

import re
from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from django.test import Client as Browser
from django.utils import timezone
from pypdf import PdfReader

from services.models import Course, Dispatch, LoadLine, Visit
from services.telling import deliver_due
from tests.filling import form_with, send
from tests.journeys.conftest import MONDAYS
from treatments.models import ApplicationRecord, Rotation, StockEntry

pytestmark = pytest.mark.django_db

REASON = "The two sprays reach one brood; the next course works differently."
NEW_YORK = ZoneInfo("America/New_York")
WORK = timedelta(hours=8)  # from the morning on: 16:00 at the yard


@pytest.fixture
def signed_in():
    """Give the browser of a person."""

    def browser(user):
        browser = Browser()
        browser.force_login(user)
        return browser

    return browser


def text_of(answer):
    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def said(answer):
    return answer.content.decode()


def problems(answer):
    """Return what a page says is wrong with what was typed."""
    return re.findall(r'class="problem"[^>]*>(.*?)</ul>', said(answer), re.S)


def verdict(answer):
    """Return what a page says of spraying now."""
    return said(answer).partition('id="verdict"')[2].partition("<h3>")[0]


def scout(browser, bed, pest):
    """Count the mites of a bed: 6 living ones a leaf, above the threshold of 5."""
    page = browser.get(f"/plantings/{bed.pk}/counts/new/")
    counted = {"leaves_looked_at": "20", "leaves_infested": "12", "nymphs": "80", "adults": "40"}
    return send(browser, page, "leaves_looked_at", pest=pest.pk, **counted)


def sheet(season, rates):
    """Return a rotation as it is typed: soap, then a miticide twice."""
    typed = {"name": "Mites on roses", "pest": season.pest.pk, "plant_group": "rose"}
    typed |= {"first_day": MONDAYS[0].date(), "weeks": "3", "do": "keep"}
    typed["plantings"] = [bed.pk for bed in season.beds]
    for place, product in enumerate([season.soap, season.mist, season.mist]):
        week = {"step": "spray", "product": product.pk, "rate": rates[place], "basis": "fl oz/gal"}
        week |= {"minimum_days": 5, "planned_days": 7, "maximum_days": 9, "purpose": "knock down"}
        typed |= {f"weeks-{place}-{name}": value for name, value in week.items()}
    return typed


def compose(browser, season):
    """Compose: refused above the label, then asked why, then kept."""
    address = "/rotations/new/"
    refused = browser.post(address, sheet(season, ["9", "2", "3"]))
    typed = sheet(season, ["3", "2", "3"])
    asked = browser.post(address, typed)
    reasons = dict.fromkeys(re.findall(r'name="(reason-[^"]+)"', said(asked)), REASON)
    return refused, asked, browser.post(address, typed | reasons)


def put_on(browser, rotation, season):
    """Put the rotation on both beds, after a look at what stands against it."""
    page = browser.get("/courses/new/")
    beds = [bed.pk for bed in season.beds]
    typed = {"rotation": rotation.pk, "plantings": beds, "first_day": MONDAYS[0].date()}
    looked = send(browser, page, "first_day", **typed)
    return send(browser, looked, "looked_at", **typed)


def dispatch(browser, monday, week):
    """Dispatch all rows of a week of the rotation that the page offers."""
    address = f"/week/{monday:%G-W%V}/"
    page = browser.get(address, {"rotation_week": week})
    rows = re.findall(r'name="visit" value="(\d+)"', said(page))
    browser.post(f"{address}dispatch/", {"visit": rows})
    return page, rows


def work(browser, clock, visit, season, **typed):
    """Measure the air, begin, spray for half an hour, and keep what was done."""
    address = f"/visits/{visit.pk}/"
    air = {"wind_mph": "4", "wind_direction": "N", "temperature_f": "75", "humidity_percent": "50"}
    air["hours_to_rain"] = "48"
    begun = send(browser, browser.get(address), "ended", to=f"{address}start/", **air)
    clock.shift(timedelta(minutes=30))
    kept = {"applicator": season.applicator.pk, "ended": hour_now(), **typed}
    return send(browser, begun, "ended", to=f"{address}complete/", **(air | kept))


def hour_now():
    return f"{timezone.now().astimezone(NEW_YORK):%H:%M}"


def visits_of_week(week):
    return list(Visit.objects.filter(rotation_week__week=week).order_by("position", "pk"))


def do_week(signed_in, dispatcher, clock, season, week):
    """Dispatch a week in the morning and make its visits in the afternoon."""
    clock.move_to(MONDAYS[week - 1])
    dispatch(signed_in(dispatcher), MONDAYS[week - 1], week)
    clock.shift(WORK)
    crew = signed_in(season.applicator.user)
    for visit in visits_of_week(week):
        answer = work(crew, clock, visit, season)
        assert answer.status_code == 302, problems(answer)


def everything_dispatched():
    kinds = (Dispatch, LoadLine, Visit)
    return [list(kind.objects.order_by("pk").values()) for kind in kinds]


@pytest.fixture
def under_way(season, owner, dispatcher, signed_in, clock):
    """Both courses, with weeks one and two made."""
    browser = signed_in(owner)
    compose(browser, season)
    put_on(browser, Rotation.objects.get(), season)
    for week in (1, 2):
        do_week(signed_in, dispatcher, clock, season, week)
    clock.move_to(MONDAYS[2])
    return season


def test_what_was_counted_is_over_the_threshold(season, owner, signed_in):
    browser = signed_in(owner)
    answer = scout(browser, season.beds[0], season.pest)

    page = said(browser.get(answer["Location"]))

    assert "The count is in the book." in page
    assert "threshold" in page


def test_a_rotation_is_refused_then_kept_with_a_reason(season, owner, signed_in):
    refused, asked, kept = compose(signed_in(owner), season)

    assert refused.status_code == asked.status_code == 422
    assert "The label allows" in said(refused) or "above" in said(refused)
    assert "reason-" in said(asked)
    assert kept.status_code == 302
    assert {each.reason for each in Rotation.objects.get().accepted_warnings.all()} == {REASON}


def test_a_rotation_is_put_on_several_properties(season, owner, signed_in):
    browser = signed_in(owner)
    compose(browser, season)

    put_on(browser, Rotation.objects.get(), season)

    assert Course.objects.count() == 2
    assert Visit.objects.count() == 6


def test_the_third_week_is_dispatched_once_however_often_it_is_sent(
    under_way, dispatcher, signed_in
):
    office = signed_in(dispatcher)
    page, rows = dispatch(office, MONDAYS[2], 3)
    first = everything_dispatched()

    office.post(f"/week/{MONDAYS[2]:%G-W%V}/dispatch/", {"visit": rows})

    assert "Week three of three" in said(page)
    assert sorted(map(int, rows)) == sorted(visit.pk for visit in visits_of_week(3))
    assert all(visit.dispatch_id for visit in visits_of_week(3))
    assert everything_dispatched() == first


def test_the_sheets_of_week_three_say_where_what_and_how_much(under_way, dispatcher, signed_in):
    office = signed_in(dispatcher)
    dispatch(office, MONDAYS[2], 3)
    route = Dispatch.objects.get(day=MONDAYS[2].date())

    paper = text_of(office.get(f"/dispatches/{route.pk}/sheets.pdf"))

    assert "2 Shelf Street" in paper
    assert "1 Market Square" in paper
    assert "week 3 of 3" in paper
    assert "Slow Mist" in paper
    assert "M-1" in paper


def test_a_crew_is_told_not_to_spray_in_wind(under_way, dispatcher, technician, signed_in):
    dispatch(signed_in(dispatcher), MONDAYS[2], 3)
    visit, crew = visits_of_week(3)[0], signed_in(technician)
    page = crew.get(f"/visits/{visit.pk}/")

    checked = send(crew, page, "ended", to=f"/visits/{visit.pk}/check/", wind_mph="16")

    assert "wind" in verdict(checked)
    assert "10 mph" in verdict(checked)
    assert visits_of_week(3)[0].state == Visit.State.NEEDS_ACTION


def test_week_three_is_made_recorded_amended_and_told(
    under_way, dispatcher, signed_in, clock, mailoutbox
):
    do_week(signed_in, dispatcher, clock, under_way, 3)
    office, crew = signed_in(dispatcher), signed_in(under_way.applicator.user)
    visit = Visit.objects.get(rotation_week__week=3, course__property=under_way.beds[0].property)

    record = kept_in_full(visit, crew)
    amended_beside(record, crew)
    told_to_the_client(visit, office, mailoutbox)


def kept_in_full(visit, crew):
    """The record is complete, its paper says the same, and the store is down by what was used."""
    record = visit.records.get()
    page = said(crew.get(f"/records/{record.number}/"))
    paper = text_of(crew.get(f"/records/{record.number}/record.pdf"))
    drawn = StockEntry.objects.get(record=record)

    assert "written in time" in page
    assert "0-103" in paper  # the number of the label
    assert "PA-0007" in paper  # the applicator's
    assert drawn.amount == -record.product_amount
    return record


def amended_beside(record, crew):
    """A wrong wind is put right by a second record; the first stays as it was."""
    address = f"/records/{record.number}/amend/"
    page = crew.get(address)
    typed = {"wind_mph": "5", "reason": "The meter was read again from its memory."}
    assert Decimal(form_with(page, "reason")["fields"]["wind_mph"][0]) == 4

    answer = send(crew, page, "reason", **typed)

    second = ApplicationRecord.objects.get(amends=record)
    paper = text_of(crew.get(f"/records/{record.number}/record.pdf"))
    assert answer["Location"] == f"/records/{second.number}/"
    assert (record.wind_mph, second.wind_mph) == (4, 5)
    assert "read again from its memory" in paper


def told_to_the_client(visit, office, mailoutbox):
    """The letter with its summary goes out once, and the link opens the same for the client."""
    client = visit.course.property.client
    deliver_due(timezone.now())
    deliver_due(timezone.now())
    letters = [mail for mail in mailoutbox if mail.to == [client.email] and mail.attachments]
    assert len(letters) == 3  # one a week
    name, content, kind = letters[-1].attachments[0]
    assert (name, kind) == ("summary.pdf", "application/pdf")
    assert "Slow Mist" in " ".join(p.extract_text() for p in PdfReader(BytesIO(content)).pages)
    opened_by_the_client(client, office, visit)


def opened_by_the_client(client, office, visit):
    made = said(office.post(f"/clients/{client.pk}/links/make/"))
    path = re.search(r"https?://[^/]+(/c/[\w-]+)", made)[1]
    browser = Browser()

    page = browser.get(path, follow=True)

    assert page.redirect_chain == [("/client/", 302)]
    assert f"Dear {client.name}" in said(page)
    assert "Town hall" not in said(page)
    assert "Slow Mist" in text_of(browser.get(f"/client/visits/{visit.pk}.pdf"))
