"""Letters are read before they go out, and none goes to an address that mail came back from."""

from datetime import UTC, datetime

import pytest
import time_machine
from django.core import mail
from django.urls import reverse

from services.asking import ask_for_day, keep_day
from services.models import Outbox
from services.telling import deliver_due, queue

NOW = datetime(2026, 7, 6, 14, tzinfo=UTC)


@pytest.fixture(autouse=True)
def on_monday():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def notice(visits, reading_society):
    visit = visits[1]
    return queue(
        Outbox.Kind.NOTICE,
        arguments={"visit": visit.pk, "client": reading_society.pk},
        dedupe_key=f"notice:{visit.pk}:{visit.planned}:client:{reading_society.pk}",
        not_before=NOW,
    )


def came_back(client):
    client.mail_came_back_on = NOW.date()
    client.save()


def test_a_letter_is_read_before_it_goes_out_and_nothing_goes_by_it(client, owner, notice):
    client.force_login(owner)

    page = client.get(reverse("services:outgoing_letter", args=[notice.pk])).content.decode()

    assert "reader@example.org" in page
    assert "We plan to treat plants" in page
    assert not mail.outbox
    notice.refresh_from_db()
    assert notice.attempts == 0


def test_who_cannot_be_told_is_said_instead(client, owner, notice, reading_society):
    came_back(reading_society)
    client.force_login(owner)

    page = client.get(reverse("services:outgoing_letter", args=[notice.pk])).content.decode()

    assert "mail came back" in page


def test_nothing_is_mailed_to_an_address_that_mail_came_back_from(notice, reading_society):
    came_back(reading_society)

    deliver_due(NOW)

    notice.refresh_from_db()
    assert "mail came back" in notice.last_error
    assert not mail.outbox


def test_no_answer_is_queued_to_it(visits, owner, reading_society):
    came_back(reading_society)
    asked = ask_for_day(visits[1], day=None, words="Another one", at=NOW)

    keep_day(asked, reply="No.", by=owner, at=NOW)

    assert not Outbox.objects.filter(kind=Outbox.Kind.DAY_ANSWER).exists()


@pytest.mark.parametrize(
    ("email", "is_kept"),
    [pytest.param("reader@example.org", True), pytest.param("other@example.org", False)],
    ids=["the same", "another"],
)
def test_another_address_is_tried_afresh(client, owner, course, reading_society, email, is_kept):
    came_back(reading_society)
    client.force_login(owner)
    card = reverse("clients:edit_client", args=[reading_society.pk])
    form = client.get(card).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields} | {"email": email}
    typed["version"] = reading_society.version

    client.post(card, typed)

    reading_society.refresh_from_db()
    assert reading_society.email == email
    assert (reading_society.mail_came_back_on is not None) == is_kept
