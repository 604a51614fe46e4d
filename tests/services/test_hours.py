"""Time on jobs: minutes at stops, by person and day."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse

from services.models import Technician, Visit
from services.showing.hours import hours_of_week

MONDAY = date(2026, 7, 13)


@pytest.fixture
def made(dispatched):
    """The second visit, made from 9:00 to 9:25 in the morning at the yard."""
    started = datetime(2026, 7, 13, 13, tzinfo=UTC)
    Visit.objects.filter(pk=dispatched.pk).update(
        state=Visit.State.COMPLETED,
        started_at=started,
        completed_at=started + timedelta(minutes=25),
    )
    return dispatched


@pytest.fixture
def helper(crew, technician):
    return Technician.objects.update_or_create(user=technician, defaults={"crew": crew})[0]


def test_everybody_of_the_crew_has_the_minutes_of_its_stops(made, helper, applicator):
    week = hours_of_week(MONDAY)

    told = {each.technician.user: dict(each.minutes) for each in week.people}
    assert told == {applicator.user: {MONDAY: 25}, helper.user: {MONDAY: 25}}


def test_a_stop_without_a_start_is_counted_and_said(made):
    Visit.objects.filter(pk=made.pk).update(started_at=None)

    (person,) = hours_of_week(MONDAY).people

    assert (person.stops, person.untold, person.total()) == (1, 1, 0)


def test_another_week_has_none(made):
    assert hours_of_week(MONDAY + timedelta(weeks=1)).people == ()
    assert hours_of_week(MONDAY - timedelta(weeks=1)).people == ()


def test_the_office_reads_them_and_takes_them_along(client, dispatcher, made):
    client.force_login(dispatcher)
    with time_machine.travel(datetime(2026, 7, 14, 14, tzinfo=UTC), tick=False):
        page = client.get(reverse("services:hours")).content.decode()
        table = client.get(reverse("services:hours_csv", args=[MONDAY])).content.decode()

    assert "<b>25</b>" in page
    assert table.splitlines()[1].split(",")[1] == "25"
