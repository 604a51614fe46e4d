"""The page that puts a visit off: what is proposed, what it would do, and what it did."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from services.models import Visit
from treatments.models import DailyWeather, ScoutingCount, WeatherStation


@pytest.fixture
def form(visits, crew, on_monday):
    """The address of the form that holds the first visit."""
    return reverse("services:hold_visit", args=[visits[0].pk])


@pytest.fixture
def season_of_heat(library):
    """Temperatures measured beside the library until the day."""
    station = WeatherStation.objects.create(
        name="Ferry station", latitude=library.latitude, longitude=library.longitude
    )
    DailyWeather.objects.bulk_create(
        DailyWeather(
            station=station,
            day=date(2026, 6, 20) + timedelta(days=number),
            minimum_f=Decimal(62),
            maximum_f=Decimal(84),
            source=DailyWeather.Source.values[0],
        )
        for number in range(17)
    )


def test_the_form_begins_with_what_the_forecast_advised(client, owner, form):
    client.force_login(owner)
    page = client.get(form, {"reason": "rain", "not_before": "2026-07-09"}).content.decode()

    assert '<option value="rain" selected>' in page
    assert "If it waits until Thu Jul 9" in page
    assert "Week 2: Mon Jul 13 becomes Thu Jul 16." in page


@pytest.mark.parametrize(
    "asked",
    [
        {"reason": "boredom", "not_before": "2026-02-30"},
        {"reason": "<script>", "not_before": "tomorrow"},
        {"not_before": "1999-01-01"},
        {"not_before": "9999-12-31"},
    ],
)
def test_what_an_address_cannot_mean_is_passed_over(client, owner, form, asked):
    client.force_login(owner)

    assert client.get(form, asked).status_code == 200


def test_looking_moves_nothing(client, owner, form, course):
    client.force_login(owner)
    client.get(form, {"not_before": "2026-07-09"})

    assert [visit.planned.day for visit in course.visits.order_by("planned")] == [6, 13, 20]


def test_a_pest_of_which_nothing_is_known_is_told_as_not_known(client, owner, form):
    client.force_login(owner)
    page = client.get(form, {"not_before": "2026-07-09"}).content.decode()

    assert "What waiting does to the pest on Rose bed is not known." in page


def test_a_hold_until_a_day_says_how_many_visits_moved(client, owner, form, course):
    client.force_login(owner)
    typed = {"reason": "wind", "note": "", "not_before": "2026-07-09"}
    page = client.post(form, typed, follow=True).content.decode()

    assert "The visit is held; 3 visits were planned anew." in page
    assert Visit.objects.get(course=course, rotation_week__week=1).planned.day == 9


@pytest.mark.parametrize("day", ["2026-07-05", "2026-12-01", "soon"])
def test_a_day_that_has_passed_or_lies_far_off_is_refused(client, owner, form, visits, day):
    client.force_login(owner)
    answer = client.post(form, {"reason": "wind", "not_before": day})

    assert answer.status_code == 422
    assert not visits[0].holds.exists()


def test_what_waiting_does_to_mites_is_told_in_words(
    client, owner, form, course, spider_mite, rose_bed, season_of_heat
):
    ScoutingCount.objects.create(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=datetime(2026, 7, 5, 14, tzinfo=UTC),
        leaves_looked_at=20,
        leaves_infested=15,
        eggs=80,
        nymphs=40,
        adults=30,
    )
    client.force_login(owner)
    page = client.get(form, {"not_before": "2026-07-09"}).content.decode()

    assert "times the mite-days of the plan as it stands" in page
