"""The calendar of a crew: what changed is told with a higher number, what it lost as cancelled."""

from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
import time_machine

from services import telling
from services.dispatching import dispatch_day, recall
from services.holding import hold_visit
from services.models import CrewFeed, FeedEntry, Hold, Visit

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard
LATER = DAWN + timedelta(minutes=5)


@pytest.fixture
def route(visits, stock, crew, owner):
    """The first visit, on the crew's route of Monday."""
    return dispatch_day(day=MONDAY, visits=visits[:1], by=owner, now=DAWN).dispatches[0]


@pytest.fixture
def token(crew, owner):
    """The token of a calendar of the crew."""
    return telling.make_feed(crew, by=owner, now=DAWN)


def read(client, token, name="visits", at=DAWN):
    with time_machine.travel(at, tick=False):
        return client.get(f"/feeds/{token}/{name}.ics")


def events(answer, kind="VEVENT"):
    return icalendar.Calendar.from_ical(answer.content).walk(kind)


def test_the_feed_tells_place_and_hours_without_signing_in(client, route, token, visits):
    answer = read(client, token)

    (event,) = events(answer)
    visit = Visit.objects.get(pk=visits[0].pk)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert "no-store" in answer["Cache-Control"]
    assert event["SUMMARY"] == "Library: Quiet Soap"
    assert event["LOCATION"] == "2 Shelf Street, Nowhere, PA 00000"
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (
        visit.arrives_at,
        visit.leaves_at,
    )
    assert (event["SEQUENCE"], event["STATUS"]) == (0, "CONFIRMED")


def test_it_names_no_client_and_no_gate_code(client, route, token, library):
    library.gate_code = "own-gate-77"
    library.save()

    text = read(client, token).content.decode()

    assert str(library.client) not in text
    assert library.client.phone not in text
    assert "own-gate-77" not in text


def test_read_again_it_is_the_same_to_the_byte(client, route, token):
    once, again = read(client, token), read(client, token, at=LATER)

    assert once.content == again.content
    assert FeedEntry.objects.get().sequence == 0


def test_another_hour_is_told_with_a_higher_number(client, route, token, visits):
    read(client, token)
    moved = DAWN + timedelta(hours=6)
    Visit.objects.filter(pk=visits[0].pk).update(
        arrives_at=moved, leaves_at=moved + timedelta(hours=1)
    )

    (event,) = events(read(client, token, at=LATER))

    assert (event["SEQUENCE"], event.decoded("DTSTART")) == (1, moved)
    assert event.decoded("DTSTAMP") == LATER


def test_a_visit_that_was_put_off_is_told_as_cancelled_and_back_again_as_confirmed(
    client, route, token, visits, owner
):
    read(client, token)
    hold = hold_visit(visits[0], reason=Hold.Reason.WIND, by=owner, at=DAWN)

    (gone,) = events(read(client, token, at=LATER))
    hold.lifted_at, hold.lifted_by = LATER, owner
    hold.save()
    dispatch_day(day=MONDAY, visits=visits[:1], by=owner, now=LATER)
    (back,) = events(read(client, token, at=LATER))

    assert (gone["STATUS"], gone["SEQUENCE"]) == ("CANCELLED", 1)
    assert (back["STATUS"], back["SEQUENCE"], back["UID"]) == ("CONFIRMED", 2, gone["UID"])


def test_a_day_taken_back_before_anybody_read_it_was_never_told(client, route, token, owner):
    recall(route, by=owner)

    assert events(read(client, token)) == []


def test_as_tasks_the_states_are_those_of_the_visits(client, route, token, visits):
    Visit.objects.filter(pk=visits[0].pk).update(state=Visit.State.IN_PROCESS)

    (task,) = events(read(client, token, "tasks"), "VTODO")

    assert task["STATUS"] == "IN-PROCESS"


def test_what_is_long_over_is_told_no_more(client, route, token):
    read(client, token)

    assert events(read(client, token, at=DAWN + timedelta(days=16))) == []
    assert not FeedEntry.objects.exists()


def test_another_crews_visits_are_not_in_it(client, route, second_crew, owner):
    theirs = telling.make_feed(second_crew, by=owner, now=DAWN)

    assert events(read(client, theirs)) == []


def test_an_address_that_was_taken_back_is_as_if_it_had_never_been(client, route, token):
    feed = CrewFeed.objects.get()

    assert telling.revoke_feed(feed, at=DAWN)
    assert not telling.revoke_feed(feed, at=LATER)

    assert read(client, token).status_code == 404
    assert read(client, "nobody-made-this").status_code == 404


def test_the_token_is_kept_nowhere(client, token, crew):
    assert token not in str(CrewFeed.objects.values())


def test_the_office_makes_an_address_sees_it_once_and_takes_it_back(client, dispatcher, crew):
    client.force_login(dispatcher)

    made = client.post(f"/crews/{crew.pk}/feeds/make/").content.decode()
    again = client.get(f"/crews/{crew.pk}/feeds/").content.decode()
    feed = CrewFeed.objects.get()
    back = client.post(f"/feeds/{feed.pk}/revoke/", follow=True).content.decode()

    assert "/visits.ics" in made
    assert "/tasks.ics" in made
    assert ".ics" not in again
    assert "not read yet" in again
    assert "Nothing is read at that address any more." in back
    assert CrewFeed.objects.get().revoked_at
