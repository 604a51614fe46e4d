"""The pages of notices: what is due, attempts written down, letters in both languages."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse
from pypdf import PdfReader

from services.models import ContactAttempt, Outbox, Visit

SATURDAY = datetime(2026, 7, 4, 14, tzinfo=UTC)


@pytest.fixture(autouse=True)
def on_saturday():
    """Stop the clock two days before the first visit."""
    with time_machine.travel(SATURDAY, tick=False):
        yield


@pytest.fixture
def listed(library):
    """A neighbour on the registry without an email."""
    return library.neighbours.create(
        name="N. Ext", phone="555-0101", address="4 Shelf Street", ground="registry"
    )


@pytest.fixture
def office(client, dispatcher):
    """The dispatcher, signed in."""
    client.force_login(dispatcher)
    return client


def attempt(visit, neighbour, **changes):
    told = {"person": f"neighbour:{neighbour.pk}", "at": "2026-07-04T10:00", "way": "telephone"}
    return told | {"outcome": "told", "note": "", "form_id": str(uuid4())} | changes


def page_of(visit):
    return reverse("services:visit_notices", args=[visit.pk])


def test_the_page_names_who_is_to_be_told_between_which_hours(office, visits, listed):
    page = office.get(reverse("services:notices_due")).content.decode()

    assert "N. Ext" in page
    assert "7 Pa. Code" in page
    assert "not told" in page


def test_names_and_hours_are_told_once_a_visit(office, visits, listed):
    page = office.get(reverse("services:notices_due")).content.decode()

    told = [row for row in page.split("<tr>") if "N. Ext" in row]
    assert len(told) == page.count("N. Ext") > 0
    assert "To be told before the visit" not in page
    assert "Send the notice between" not in page


def test_who_can_no_longer_be_told_is_named_once(client, dispatcher, visits, listed):
    with time_machine.travel(SATURDAY + timedelta(days=2), tick=False):
        client.force_login(dispatcher)
        page = client.get(page_of(visits[0])).content.decode()

    assert "The time to tell them is over" in page
    assert "N. Ext had to be told" not in page


def test_an_attempt_is_written_down_once_by_the_clocks_of_the_property(office, visits, listed):
    told = attempt(visits[0], listed)

    first = office.post(page_of(visits[0]), told)
    office.post(page_of(visits[0]), told)

    kept = ContactAttempt.objects.get()
    assert first.status_code == 302
    assert kept.at == datetime(2026, 7, 4, 14, tzinfo=UTC)
    assert "told" in office.get(page_of(visits[0])).content.decode()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"at": "2026-07-05T10:00"}, "has not come yet"),
        ({"person": "neighbour:999"}, "not one of the available choices"),
        ({"outcome": "perhaps"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(office, visits, listed, wrong, says):
    answer = office.post(page_of(visits[0]), attempt(visits[0], listed, note="called", **wrong))

    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert "called" in page


def test_the_mails_of_a_visit_go_out(office, visits, reading_society):
    office.post(reverse("services:send_visit_notices", args=[visits[0].pk]))

    assert Outbox.objects.get().arguments == {
        "visit": visits[0].pk,
        "client": reading_society.pk,
    }


def test_only_the_office_sends_mails(client, applicator, visits):
    client.force_login(applicator.user)

    answer = client.post(reverse("services:send_visit_notices", args=[visits[0].pk]))

    assert answer.status_code == 403


def test_a_letter_is_printed_to_each_in_both_languages_where_none_is_known(
    office, visits, listed, business
):
    paper = office.get(reverse("services:notice_letters", args=[visits[0].pk])).content

    pages = [page.extract_text() for page in PdfReader(BytesIO(paper)).pages]
    # [PA-128-112] day, site, hours, brand, EPA number; [NY-ECL-33] English and Spanish
    assert len(pages) == 2
    assert "4 Shelf Street" in pages[1]
    assert "Monday, July 6, 2026" in pages[1]
    assert "lunes 6 de julio de 2026" in pages[1]
    assert "0-101" in pages[1]


def test_without_anybody_to_tell_there_is_no_letter(office, visits, reading_society):
    reading_society.wants_notice = False
    reading_society.save()

    answer = office.get(reverse("services:notice_letters", args=[visits[0].pk]))

    assert answer.status_code == 404
    assert "Nobody is to be told" in office.get(page_of(visits[0])).content.decode()


def test_a_technician_sees_no_notices(client, technician, visits):
    client.force_login(technician)

    assert client.get(page_of(visits[0])).status_code == 403


def test_the_page_takes_as_many_queries_for_three_visits_as_for_one(
    office, visits, listed, django_assert_max_num_queries
):
    with django_assert_max_num_queries(40):
        office.get(reverse("services:notices_due"))
    Visit.objects.exclude(pk=visits[0].pk).delete()
    with django_assert_max_num_queries(40):
        office.get(reverse("services:notices_due"))
