"""A client asks for another day on the own page; the office moves the visit or says why not."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core import mail
from django.core.exceptions import ValidationError
from django.urls import reverse

from services.asking import ask_for_day, keep_day
from services.courses import move_visit
from services.models import DayAsked, Outbox, Visit
from services.removing import remove_client
from services.showing.digest import digest_of
from services.telling import deliver_due, make_link

NOW = datetime(2026, 7, 7, 14, tzinfo=UTC)
TUESDAY = date(2026, 7, 14)  # a day after the second visit is planned


@pytest.fixture(autouse=True)
def on_tuesday():
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def coming(visits):
    """The second visit, planned for Monday, 13 July, from the 11th to the 15th."""
    return visits[1]


@pytest.fixture
def page(client, coming):
    """The browser of the client, whose link was followed."""
    client.get(f"/c/{make_link(coming.course.property.client, now=NOW)}")
    return client


@pytest.fixture
def asked(coming):
    return ask_for_day(coming, day=TUESDAY, words="A wedding.", at=NOW)


def form_of(visit):
    return reverse("services:ask_day", args=[visit.pk])


def test_a_client_asks_from_the_own_page_and_reads_that_it_was_heard(page, coming):
    assert form_of(coming) in page.get("/client/").content.decode()

    answer = page.post(form_of(coming), {"day": "2026-07-14", "words": "A wedding."}, follow=True)

    told = answer.content.decode()
    assert "You asked for Tuesday, July 14, 2026" in told
    asked = DayAsked.objects.get()
    assert (asked.visit_id, asked.day, asked.was_planned) == (coming.pk, TUESDAY, coming.planned)
    coming.refresh_from_db()
    assert coming.planned == date(2026, 7, 13)


def test_who_asks_twice_asks_once(page, coming):
    page.post(form_of(coming), {"day": "2026-07-14"})
    page.post(form_of(coming), {"words": "Any day but Friday."})

    asked = DayAsked.objects.get()
    assert (asked.day, asked.words) == (None, "Any day but Friday.")


@pytest.mark.parametrize(
    "typed",
    [
        pytest.param({}, id="nothing"),
        pytest.param({"day": "2026-07-20"}, id="a day that is none of its own"),
        pytest.param({"day": "soon"}, id="no day"),
        pytest.param({"words": "x" * 401}, id="a novel"),
    ],
)
def test_what_cannot_be_asked_is_said_beside_what_was_typed(page, coming, typed):
    answer = page.post(form_of(coming), typed)

    assert answer.status_code == 422
    assert answer.context["form"].errors
    assert not DayAsked.objects.exists()


def test_a_visit_of_another_client_is_not_there(page, second_course):
    other = Visit.objects.filter(course=second_course).first()

    assert page.get(form_of(other)).status_code == 404
    assert page.post(form_of(other), {"words": "Mine"}).status_code == 404


def test_a_visit_under_way_does_not_move(coming):
    Visit.objects.filter(pk=coming.pk).update(state=Visit.State.IN_PROCESS)

    with pytest.raises(ValidationError) as refusal:
        ask_for_day(coming, day=TUESDAY, words="", at=NOW)
    assert refusal.value.code == "not_open"


def test_the_office_sees_it_on_the_week_in_the_list_and_in_the_morning(client, owner, asked):
    client.force_login(owner)

    week = client.get(reverse("services:week", args=[TUESDAY - timedelta(days=1)])).content.decode()
    listed = client.get(reverse("services:days_asked")).content.decode()

    assert "One client asks for another day." in week
    assert "Asks for Tuesday, July 14, 2026 instead of Monday, July 13, 2026." in listed
    assert "A wedding." in listed
    parts = {part.heading: part.lines for part in digest_of(owner, NOW).parts}
    assert "Reading Society" in parts["Clients who ask for another day"][0]


def test_moving_the_visit_answers_and_tells_the_client_once(asked, coming, owner):
    version = Visit.objects.get(pk=coming.pk).version
    move_visit(coming, day=TUESDAY, by=owner, version=version)

    asked.refresh_from_db()
    assert asked.answer == DayAsked.Answer.MOVED
    deliver_due(NOW)
    deliver_due(NOW)
    (letter,) = [each for each in mail.outbox if "another day" in each.body]
    assert "now planned for" in letter.body
    assert not DayAsked.objects.open().exists()


def test_a_day_that_stays_is_told_with_the_reason_once(client, asked, owner):
    client.force_login(owner)
    answer_so = reverse("services:keep_day", args=[asked.pk])

    assert client.post(answer_so, {"reply": ""}).status_code == 422
    client.post(answer_so, {"reply": "The mites do not wait: eggs hatch on the 13th."})
    client.post(answer_so, {"reply": "Another reason."})

    asked.refresh_from_db()
    assert asked.reply.startswith("The mites do not wait")
    deliver_due(NOW)
    (letter,) = [each for each in mail.outbox if "another day" in each.body]
    assert "The mites do not wait" in letter.body


def test_who_has_no_address_is_answered_without_a_mail(asked, owner):
    asked.visit.course.property.client.email = ""
    asked.visit.course.property.client.save()

    assert keep_day(asked, reply="By telephone.", by=owner, at=NOW + timedelta(hours=1))
    assert not Outbox.objects.filter(kind=Outbox.Kind.DAY_ANSWER).exists()


def test_a_client_who_is_removed_leaves_no_words(asked, coming, owner):
    Visit.objects.filter(course=coming.course).update(state=Visit.State.CANCELLED)
    remove_client(coming.course.property.client, by=owner, at=NOW)

    asked.refresh_from_db()
    assert asked.words == ""


def test_a_program_reads_what_is_asked_and_answers(client, owner, asked):
    client.force_login(owner)
    (row,) = client.get("/api/v1/days-asked/").json()["results"]

    assert (row["day"], row["words"]) == ("2026-07-14", "A wedding.")
    answered = client.post(
        f"/api/v1/days-asked/{asked.pk}/keep/",
        {"reply": "Eggs hatch on the 13th."},
        content_type="application/json",
    )
    assert answered.json()["answer"] == "kept"
