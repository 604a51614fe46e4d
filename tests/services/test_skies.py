"""The hours of a stop on Day and Week, holds that are advised, and what dispatch makes of them."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from services import dispatching
from services.holding import hold_visit
from services.models import HourlyForecast, Visit
from services.rules.spray_hours import Cause, Verdict
from services.weathering import (
    closed_by_weather,
    forecasts_at,
    hold_advised,
    load_labels,
    sky_of,
)

MONDAY = datetime(2026, 7, 6, tzinfo=UTC)
NOW = datetime(2026, 7, 6, 10, tzinfo=UTC)  # 6:00 at the yard
HOUR = timedelta(hours=1)
BAD, GOOD = {"wind_mph": Decimal(18)}, {"wind_mph": Decimal(5)}


def told(yard, now=NOW, hours=72, windy=range(0), **air):
    """Tell the coming hours: windy in some, counted in UTC from Monday's midnight."""
    mild = {"temperature_f": Decimal(70), "humidity_percent": Decimal(60)} | GOOD | air
    HourlyForecast.objects.bulk_create(
        HourlyForecast(
            yard=yard,
            starts_at=MONDAY + number * HOUR,
            source="person",
            fetched_at=now,
            rain_percent=Decimal(0),
            **mild | (BAD if number in windy else {}),
        )
        for number in range(hours)
    )


def first(visits):
    return load_labels(visits)[0]


def test_a_stops_hours_are_those_of_its_place(yard, visits, crew):
    told(yard, windy=range(16, 18))
    sky = sky_of(first(visits), NOW.date(), forecasts_at(NOW))
    windy = [hour for hour in sky.hours if hour.verdict is Verdict.HOLD]

    # noon to two on the Delaware are 16:00 to 18:00 UTC [IANA America/New_York]
    assert [hour.starts_at.hour for hour in windy] == [16, 17]
    assert len(sky.hours) == 17  # from five in the morning to ten in the evening


@pytest.mark.parametrize(("age", "closed"), [(179, True), (181, False)])
def test_only_a_fresh_forecast_closes_hours(yard, visits, crew, age, closed):
    told(yard, now=NOW - timedelta(minutes=age), windy=range(72))

    assert bool(closed_by_weather(first(visits), NOW.date(), forecasts_at(NOW))) is closed


def test_unknown_wind_closes_nothing(yard, visits, crew):
    told(yard, wind_mph=None)

    assert closed_by_weather(first(visits), NOW.date(), forecasts_at(NOW)) == ()


def dispatched_at(visits, owner):
    plan = dispatching.dispatch_day(day=NOW.date(), visits=[visits[0]], by=owner, now=NOW)
    return plan, Visit.objects.get(pk=visits[0].pk)


def test_dispatch_starts_after_the_hours_that_are_known_to_be_bad(
    yard, visits, crew, owner, soap_lot, calibration
):
    told(yard, windy=range(18))  # until two in the afternoon
    _plan, visit = dispatched_at(visits, owner)

    assert visit.arrives_at <= datetime(2026, 7, 6, 18, tzinfo=UTC) < visit.leaves_at


def test_a_day_of_bad_hours_leaves_the_visit_out_and_says_so(
    yard, visits, crew, owner, soap_lot, calibration
):
    told(yard, windy=range(72))
    plan, visit = dispatched_at(visits, owner)

    assert visit.dispatch is None
    assert [left.reason.code for left in plan.left_out] == ["weather-closes-hours"]


def test_without_a_forecast_dispatch_goes_as_before(
    yard, visits, crew, owner, soap_lot, calibration
):
    _plan, visit = dispatched_at(visits, owner)

    assert visit.dispatch is not None


def test_a_hold_is_advised_for_a_day_of_bad_hours(yard, visits, crew):
    told(yard, windy=range(72))
    advised = hold_advised(first(visits), forecasts_at(NOW))

    assert (advised.cause, advised.reason, advised.day) == (Cause.WIND, "wind", NOW.date())


def test_no_hold_is_advised_while_an_hour_is_good_or_unknown(yard, visits, crew):
    told(yard, hours=20, windy=range(20))

    assert hold_advised(first(visits), forecasts_at(NOW)) is None


def test_hours_that_are_over_do_not_speak_for_the_day(yard, visits, crew):
    told(yard, windy=range(14, 72))
    later = NOW + 4 * HOUR  # at ten, when only the windy hours are left
    HourlyForecast.objects.update(fetched_at=later)

    assert hold_advised(first(visits), forecasts_at(NOW + 2 * HOUR)) is None
    assert hold_advised(first(visits), forecasts_at(later)).cause is Cause.WIND


def test_a_held_visit_is_not_advised_to_be_held(yard, visits, crew, owner):
    told(yard, windy=range(72))
    hold_visit(visits[0], reason="wind", by=owner, at=NOW)

    assert hold_advised(first([Visit.objects.get(pk=visits[0].pk)]), forecasts_at(NOW)) is None


@pytest.fixture
def windy_page(client, owner, yard, visits, crew, soap_lot, calibration, on_monday):
    """The page of a day on which the visit has a crew, and then the wind is forecast."""
    dispatched_at(visits, owner)
    told(yard, now=datetime(2026, 7, 6, 14, tzinfo=UTC), windy=range(72))
    client.force_login(owner)
    return lambda address: client.get(address).content.decode()


@pytest.mark.parametrize("address", ["/day/2026-07-07/", "/week/"])
def test_the_pages_offer_the_hold_and_leave_it_to_a_person(windy_page, visits, address):
    Visit.objects.filter(pk=visits[0].pk).update(
        arrives_at=NOW + 8 * HOUR, leaves_at=NOW + 9 * HOUR
    )
    page = windy_page(address.replace("-07/", "-06/"))
    form = reverse("services:hold_visit", args=[visits[0].pk])

    assert "To think of holding" in page
    assert f"{form}?reason=wind&amp;not_before=2026-07-07" in page
    assert not Visit.objects.get(pk=visits[0].pk).holds.exists()


def test_from_the_week_a_windy_day_is_given_up_as_a_whole(windy_page, visits):
    Visit.objects.filter(pk=visits[0].pk).update(
        arrives_at=NOW + 8 * HOUR, leaves_at=NOW + 9 * HOUR
    )
    lost = reverse("services:replan") + "?lost=day&amp;day=2026-07-06"

    assert f'href="{lost}"' in windy_page("/week/")
    asked = windy_page(lost.replace("&amp;", "&"))
    assert re.search(r'value="day"[^>]* checked', asked)
    assert 'value="2026-07-06"' in asked


def test_the_strip_tells_its_hours_in_words(windy_page):
    page = windy_page("/day/2026-07-06/")

    assert "Hours to spray at Library, Monday, July 6, 2026" in page
    assert "hold (wind)" in page


def test_a_day_without_a_forecast_says_that_it_is_not_known(client, owner, visits, yard, on_monday):
    client.force_login(owner)
    page = client.get("/day/").content.decode()

    assert "is not known, and unknown is not calm" in page
    assert "Hours to spray" not in page


def test_a_technician_is_sent_to_the_page_on_the_spot(client, technician, windy_page, visits):
    Visit.objects.filter(pk=visits[0].pk).update(
        arrives_at=NOW + 8 * HOUR, leaves_at=NOW + 9 * HOUR
    )
    client.force_login(technician)
    page = client.get("/day/2026-07-06/").content.decode()

    assert f"/visits/{visits[0].pk}/#hold" in page
    assert "/hold/?" not in page


@pytest.mark.parametrize("address", ["/day/2026-07-06/", "/week/"])
def test_a_forecast_takes_no_more_queries_for_two_stops_than_for_one(
    queries_of, windy_page, request, owner, address
):
    once = queries_of(address)
    twin = request.getfixturevalue("second_course").visits.order_by("planned").first()
    HourlyForecast.objects.all().delete()
    dispatching.dispatch_day(day=NOW.date(), visits=[twin], by=owner, now=NOW)
    told(
        twin.dispatch.crew.yard if twin.dispatch else request.getfixturevalue("yard"),
        now=datetime(2026, 7, 6, 14, tzinfo=UTC),
        windy=range(72),
    )

    assert queries_of(address) == once
