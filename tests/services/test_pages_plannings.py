"""Pages of plans in the making: the way to them, progress, three ways side by side, one chosen."""

from datetime import UTC, date, datetime

import pytest
import time_machine
from django.urls import reverse

from services.dispatching import dispatch_day
from services.models import Dispatch, Outbox, Planning, Visit
from services.plannings import MOST_AT_ONCE
from services.telling import people_to_tell

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard


@pytest.fixture
def office(client, dispatcher):
    """The browser of the office, at dawn."""
    client.force_login(dispatcher)
    with time_machine.travel(DAWN, tick=False):
        yield client


@pytest.fixture
def sent(visits, town_hall, crew, stock, owner):
    """Both first visits are on the crew's route of Monday."""
    return dispatch_day(day=MONDAY, visits=first_visits(), by=owner, now=DAWN)


@pytest.fixture
def offers(office, sent, crew):
    """Monday is planned anew without the crew."""
    asked = {"what": "crew", "crew": crew.pk, "first": "2026-07-06", "with_others": "on"}
    answer = office.post(reverse("services:replan"), asked)
    return answer["Location"]


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def test_the_three_ways_stand_side_by_side_with_before_and_after(office, offers):
    page = office.get(offers).content.decode()

    for words in ("Nothing else moves", "Promised days stay", "Everything may move"):
        assert words in page
    assert page.count("goes on another day") == 1 + 3 * 2
    assert "Mon Jul 6" in page
    assert "Crew one" in page
    assert Dispatch.objects.filter(day=MONDAY).exists()


def test_one_is_chosen_and_a_second_choice_changes_nothing(office, offers):
    choose = f"{offers}choose/"

    first = office.post(choose, {"offer": "locked"}, follow=True).content.decode()
    second = office.post(choose, {"offer": "free"}, follow=True).content.decode()

    assert "This is the plan now." in first
    assert "It had been chosen already." in second
    assert Planning.objects.get().chosen == "locked"
    assert not Dispatch.objects.filter(day=MONDAY).exists()


def test_the_page_says_that_new_notices_are_not_sent_yet(office, sent, crew, reading_society):
    reading_society.wants_notice = True
    reading_society.save()
    for visit in first_visits():
        for reader in people_to_tell(visit):
            Outbox.objects.create(
                kind=Outbox.Kind.NOTICE, dedupe_key=reader.key, not_before=DAWN, done_at=DAWN
            )
    asked = {"what": "day", "first": "2026-07-06"}
    place = office.post(reverse("services:replan"), asked)["Location"]

    before = office.get(place).content.decode()
    page = office.post(f"{place}choose/", {"offer": "insertion"}, follow=True).content.decode()

    assert "was told, to be told again" in before
    assert "new notices of 2 visits stand among what goes out, not yet sent" in page


@pytest.mark.parametrize("offer", ["", "everything", "free'--"])
def test_an_offer_that_is_none_is_refused(office, offers, offer):
    page = office.post(f"{offers}choose/", {"offer": offer}, follow=True).content.decode()

    assert "There is no such offer." in page
    assert Planning.objects.get().chosen == ""


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"what": "crew", "first": "2026-07-06"}, "Say which crew is not there."),
        (
            {"what": "day", "first": "2026-07-08", "last": "2026-07-07"},
            "The last day comes after the first.",
        ),
        ({"what": "day", "first": "2026-07-01"}, "Choose days from today on"),
        ({"what": "day", "first": "2026-07-06", "last": "2026-12-31"}, "At most 31 days"),
        ({"what": "flood", "first": "2026-07-06"}, "flood"),
        ({"crew": ""}, "This field is required."),
    ],
)
def test_what_cannot_be_planned_anew_is_told_beside_the_field(office, crew, typed, told):
    page = office.post(reverse("services:replan"), typed).content.decode()

    assert told in page.replace("&#x27;", "'")
    assert not Planning.objects.exists()


def test_the_page_of_a_crew_leads_to_the_form_with_crew_and_day(office, sent, crew):
    day = office.get("/day/2026-07-06/").content.decode()
    page = office.get(f"/replan/?crew={crew.pk}&day=2026-07-06").content.decode()

    assert f"/replan/?crew={crew.pk}&amp;day=2026-07-06" in day
    assert f'<option value="{crew.pk}" selected>' in page


def test_a_week_may_be_dispatched_in_steps_and_followed(office, visits, crew, stock):
    asked = {"visit": [visits[0].pk], "in_steps": ""}
    answer = office.post("/week/2026-W28/dispatch/", asked)

    page = office.get(answer["Location"]).content.decode()

    assert "It waits for a free worker." in page
    assert 'hx-trigger="every 2s"' in page
    assert "Look again" in page


def test_the_steps_are_shown(office, visits, crew, stock):
    office.post("/week/2026-W28/dispatch/", {"visit": [visits[0].pk], "in_steps": ""})
    Planning.objects.update(step=7, steps=20)

    page = office.get(f"/plannings/{Planning.objects.get().pk}/").content.decode()

    assert "Step 7 of 20." in page
    assert '<progress max="20" value="7">' in page


def test_a_search_may_be_stopped(office, visits, crew, stock):
    office.post("/week/2026-W28/dispatch/", {"visit": [visits[0].pk], "in_steps": ""})
    row = Planning.objects.get()

    page = office.post(f"/plannings/{row.pk}/stop/", follow=True).content.decode()

    assert "It ends after this step." in page
    assert Planning.objects.get().stopped_at


def test_a_big_week_is_always_dispatched_in_steps(office, visits, crew, stock):
    many = [visits[0].pk, *range(900_000, 900_000 + MOST_AT_ONCE)]

    answer = office.post("/week/2026-W28/dispatch/", {"visit": many})

    assert answer["Location"] == f"/plannings/{Planning.objects.get().pk}/"


def test_what_failed_says_that_nothing_was_changed(office, visits, crew, stock):
    office.post("/week/2026-W28/dispatch/", {"visit": [visits[0].pk], "in_steps": ""})
    Planning.objects.update(failed_at=DAWN, last_error="The road was closed.")

    page = office.get(f"/plannings/{Planning.objects.get().pk}/").content.decode()

    assert "nothing was changed" in page
    assert "The road was closed." in page
    assert "hx-trigger" not in page.split('id="planning"')[1].split(">")[0]
