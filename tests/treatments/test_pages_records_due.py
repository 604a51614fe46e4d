"""What is still asked of records: to be written, late, copies, and how long they are kept."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from clients.access import Reach, Role
from clients.models import Client, Planting, Property
from services.models import Visit
from treatments.recording import record_application

NO_BREAK = "\u00a0"
ADDRESS = "/records/due/"
DONE = datetime(2026, 7, 6, 22, 40, tzinfo=UTC)


def page_of(client, user):
    client.force_login(user)
    answer = client.get(ADDRESS)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().replace(NO_BREAK, " ").split())


def kept_at(moment, stated, **changes):
    with time_machine.travel(moment, tick=False):
        return record_application(**{**stated, **changes})


@pytest.fixture
def without_address(stated):
    """An application for a client whose address is not in the book."""
    Client.objects.update(street="", city="", region="", postal_code="")
    return {**stated, "planting": Planting.objects.get()}


def test_a_complete_record_that_came_in_time_asks_for_nothing(client, owner, stated):
    kept_at("2026-07-06T22:45:00Z", stated)

    with time_machine.travel("2026-07-07T12:00:00Z"):
        page = page_of(client, owner)

    assert "No record of the past year lacks" in page
    assert "No record of the past year came late." in page


def test_what_is_missing_is_due_until_its_time_is_over_and_then_late(
    client, owner, without_address
):
    # [PA-128-35] within 24 hours of the end, 18:40 at the property
    kept_at("2026-07-06T22:45:00Z", without_address)

    with time_machine.travel(DONE + timedelta(hours=24), tick=False):
        page = page_of(client, owner)
        assert "customer&#x27;s address" in page
        assert '<tr class="late">' not in page
        assert "18:40 EDT" in page

    with time_machine.travel(DONE + timedelta(hours=24, seconds=1), tick=False):
        assert '<tr class="late">' in page_of(client, owner)


@pytest.mark.parametrize(("seconds", "is_late"), [(-1, False), (0, False), (1, True)])
def test_a_record_is_late_by_its_receipt_and_not_by_the_clock_of_the_device(
    client, owner, stated, seconds, is_late
):
    # [PA-128-35] 24 hours from the completion as stated to the receipt at the server
    received = DONE + timedelta(hours=24, seconds=seconds)
    kept_at(received, stated)

    with time_machine.travel(received):
        assert ('<tr class="late">' in page_of(client, owner)) is is_late


@pytest.mark.parametrize(
    ("done_at", "due"),
    [
        # Clocks go forward on 8 March and back on 1 November 2026 [15USC260A]:
        # 24 elapsed hours from 18:00 end at 19:00 and at 17:00.
        (datetime(2026, 3, 7, 23, 0, tzinfo=UTC), "19:00 EDT"),
        (datetime(2026, 10, 31, 22, 0, tzinfo=UTC), "17:00 EST"),
    ],
)
def test_the_time_to_write_is_told_by_the_clocks_of_the_property(
    client, owner, without_address, done_at, due
):
    moments = {"started_at": done_at, "done_at": done_at, "captured_at": done_at}
    kept_at(done_at, without_address, **moments)

    with time_machine.travel(done_at):
        assert due in page_of(client, owner)


def test_a_record_of_a_leap_day_is_kept_to_the_first_of_march(client, owner, stated):
    # [WA-17-21] seven years; 2035 has no 29 February
    Property.objects.update(jurisdiction="US-WA")
    leap = datetime(2028, 2, 29, 20, 0, tzinfo=UTC)
    moments = {"started_at": leap, "done_at": leap, "captured_at": leap}
    kept_at(leap, {**stated, "planting": Planting.objects.get()}, **moments)

    with time_machine.travel(leap):
        assert "Mar 1, 2035" in page_of(client, owner)


def test_a_copy_is_due_where_the_rule_asks_and_not_known_where_it_says_nothing(
    client, owner, stated
):
    # [MN-18B] a copy to the customer, no number of days
    Property.objects.update(jurisdiction="US-MN")
    kept_at("2026-07-06T22:45:00Z", {**stated, "planting": Planting.objects.get()})
    Property.objects.update(jurisdiction="US-NJ")
    kept_at("2026-07-06T22:45:00Z", {**stated, "planting": Planting.objects.get()})

    with time_machine.travel("2026-07-07T12:00:00Z"):
        page = page_of(client, owner)

    assert page.count("the rule names no day") == 1
    assert page.count("not known: ask the state's agency") == 1


def test_a_technician_sees_what_is_within_reach(
    client, technician, without_address, rose_bed, monkeypatch
):
    kept_at("2026-07-06T22:45:00Z", without_address)
    with time_machine.travel("2026-07-07T12:00:00Z"):
        assert "To be written by" not in page_of(client, technician)
        monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

        assert "To be written by" in page_of(client, technician)


def test_many_records_ask_as_often_as_one(client, owner, stated, django_assert_max_num_queries):
    for _ in range(3):
        kept_at("2026-07-06T22:45:00Z", stated)
    client.force_login(owner)

    with time_machine.travel("2026-07-07T12:00:00Z"), django_assert_max_num_queries(12):
        client.get(ADDRESS)


def test_a_stop_that_nobody_reported_is_owed_until_it_is(client, book, now):
    visit = Visit.objects.get(pk=book.own["visit_id"])
    owner = book.people[Role.OWNER]
    now.move_to(visit.leaves_at - timedelta(minutes=1))
    assert "Not reported yet" not in page_of(client, owner)

    # [PA-128-35] 24 hours after the end
    now.move_to(visit.leaves_at + timedelta(hours=24))
    page = page_of(client, owner)
    assert "Not reported yet" in page
    assert f"/visits/{visit.pk}/" in page
    assert "due today" in page
    now.move_to(visit.leaves_at + timedelta(hours=24, seconds=1))
    assert '<b class="late">late</b>' in page_of(client, owner)


def test_what_is_due_today_says_so(client, owner, without_address):
    kept_at("2026-07-06T22:45:00Z", without_address)

    with time_machine.travel("2026-07-07T05:00:00Z", tick=False):
        assert "due today" in page_of(client, owner)
    with time_machine.travel("2026-07-07T03:00:00Z", tick=False):  # still the 6th there
        assert "due today" not in page_of(client, owner)
