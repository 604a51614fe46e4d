"""What is at hand for a physician: what was applied within 30 days, its first aid, whom to call.

The lines follow "In Case of Pesticide Emergency": 911, the poison centre, and product name, EPA
number, active ingredient and first aid ready at hand [EPA-EMERGENCY].
"""

import logging
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse

from services.models import Dispatch
from treatments.recording import record_application, void_application

NO_BREAK = "\u00a0"
DONE = datetime(2026, 7, 6, 22, 40, tzinfo=UTC)
FIRST_AID = "If in eyes: rinse for 15 to 20 minutes.\nIf swallowed: call a poison centre."


@pytest.fixture
def address(library):
    return reverse("services:physician", args=[library.pk])


@pytest.fixture
def applied(stated, soap):
    """Soap on the roses, with the first aid of its label in the book."""
    soap.first_aid, soap.signal_word = FIRST_AID, "CAUTION"
    soap.save()
    return record_application(**stated)


def page_of(client, user, address, at=DONE):
    client.force_login(user)
    with time_machine.travel(at, tick=False):
        answer = client.get(address)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().replace(NO_BREAK, " ").split())


def test_the_page_holds_all_that_a_physician_asks_for(client, owner, applied, soap, address):
    page = page_of(client, owner, address)

    wanted = ["911", "1-800-222-1222", soap.name, soap.epa_registration_number, "CAUTION"]
    wanted += ["If in eyes: rinse for 15 to 20 minutes.<br>If swallowed", "9 fl oz in 3 gal"]
    assert [each for each in [*wanted, applied.active_ingredients] if each not in page] == []
    assert "Jul 6, 2026 18:00 – 18:40 EDT" in page


def test_first_aid_is_told_as_the_label_said_it_that_day(client, owner, applied, soap, address):
    soap.first_aid = "Printed later."
    soap.save()

    page = page_of(client, owner, address)

    assert "If in eyes: rinse for 15 to 20 minutes." in page
    assert "Printed later." not in page


@pytest.mark.parametrize(
    ("after", "is_shown"),
    [(timedelta(days=30), True), (timedelta(days=30, seconds=1), False), (timedelta(0), True)],
)
def test_what_is_older_than_30_days_is_left_out(client, owner, applied, address, after, is_shown):
    page = page_of(client, owner, address, DONE + after)

    assert (applied.product_name in page) is is_shown
    assert ("not proof that none was made" in page) is not is_shown


def test_a_void_record_is_left_out(client, owner, applied, address):
    void_application(record=applied, reason="It was written for another bed.", by=owner)

    assert applied.product_name not in page_of(client, owner, address)


def test_first_aid_that_is_not_in_the_book_is_said_to_be_on_the_label(
    client, owner, stated, soap, address
):
    soap.first_aid = ""
    soap.save()
    record_application(**stated)

    assert "not in the book: read the label" in page_of(client, owner, address)


def test_every_look_is_noted_with_who_and_where(client, owner, library, address, caplog):
    with caplog.at_level(logging.WARNING, "services.views.physician"):
        page_of(client, owner, address)

    (line,) = [each for each in caplog.records if each.name == "services.views.physician"]
    assert (line.user_id, line.property_id) == (owner.pk, library.pk)


def test_a_crew_sees_it_within_reach_and_an_inspector_not(
    client, technician, inspector, dispatched, on_monday, address
):
    client.force_login(inspector)
    assert client.get(address).status_code == 403

    client.force_login(technician)
    assert client.get(address).status_code == 404
    Dispatch.objects.filter(pk=dispatched.dispatch_id).update(day=on_monday)
    assert client.get(address).status_code == 200


def test_the_page_is_kept_by_no_cache(client, owner, address):
    client.force_login(owner)

    assert "no-store" in client.get(address)["Cache-Control"]


def test_the_page_of_a_property_leads_to_it(client, owner, library, address, on_monday):
    client.force_login(owner)

    page = client.get(reverse("services:property", args=[library.pk])).content.decode()

    assert f'href="{address}"' in page
