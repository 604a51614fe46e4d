"""Copies that clients were given and returns that were filed: noted once, for good, and late."""

import json
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from treatments.handing import file_return, give_copies
from treatments.models import CopyGiven, JournalEntry, ReturnFiled
from treatments.recording import amend_application, record_application
from treatments.rules.records import return_rule

NOW = datetime(2026, 7, 6, 22, 50, tzinfo=UTC)
LATER = datetime(2026, 8, 20, 16, tzinfo=UTC)
ADDRESS = "/records/copies/"


@pytest.fixture
def record(stated, library):
    """A record in Idaho of a product for restricted use, applied on 6 July."""
    library.jurisdiction = "US-ID"
    library.save()
    stated["planting"].property.refresh_from_db()
    return record_application(**stated, restricted_use=True, now=NOW)


def test_a_copy_is_noted_once_and_the_journal_has_it(record, dispatcher):
    told = {"on": date(2026, 7, 7), "way": "hand", "by": dispatcher}

    counts = [give_copies([record], **told, at=LATER) for _time in range(2)]

    body = json.loads(JournalEntry.objects.latest("seq").body)
    assert counts == [1, 0]
    assert (body["record"], body["given_on"], body["way"]) == (record.number, "2026-07-07", "hand")


@pytest.mark.parametrize("day", [date(2026, 7, 5), date(2026, 8, 21)])
def test_a_copy_was_given_between_the_work_and_today(record, dispatcher, day):
    with pytest.raises(ValidationError, match="between the work and today"):
        give_copies([record], on=day, way="hand", by=dispatcher, at=LATER)

    assert not CopyGiven.objects.exists()


def test_a_copy_that_was_given_stays_as_it_was_noted(record, dispatcher):
    give_copies([record], on=date(2026, 7, 7), way="hand", by=dispatcher, at=LATER)

    with pytest.raises(DatabaseError), transaction.atomic():
        CopyGiven.objects.all()._raw_delete(using="default")
    with pytest.raises(ValidationError):
        CopyGiven.objects.update(way="letter")


# [ID-02-03-03] restricted-use applications: copy to the customer within 30 days
@pytest.mark.parametrize(
    ("day", "shown"), [("2026-08-05", "given on Aug 5, 2026"), ("2026-08-06", "late")]
)
def test_the_page_says_whether_the_copy_came_in_time(client, owner, record, day, shown):
    with time_machine.travel(LATER, tick=False):
        client.force_login(owner)
        assert "Copy for the client by Aug 5, 2026" in page(client, f"/records/{record.number}/")
        client.post(ADDRESS, {"number": record.number, "given_on": day, "way": "letter"})

        told = page(client, f"/records/{record.number}/")
        due = page(client, "/records/due/")

    assert shown in told
    assert "by letter" in told
    assert ("Given late" in due) is (shown == "late")
    assert ("1 copy was given in time" in due) is (shown != "late")


def test_an_open_copy_is_late_after_its_day(client, owner, record):
    with time_machine.travel(LATER, tick=False):
        client.force_login(owner)
        due = page(client, "/records/due/")

    assert f"copy of {record.number}" in due
    assert '<b class="late">late</b> Aug 5, 2026' in due


def test_what_amends_a_record_is_given_anew(record, dispatcher, owner):
    give_copies([record], on=date(2026, 7, 7), way="hand", by=dispatcher, at=LATER)
    second = amend_application(
        record, reason="The wind was read twice.", by=owner, wind_direction="NW"
    )

    assert give_copies([second], on=date(2026, 7, 8), way="hand", by=dispatcher, at=LATER) == 1


def test_a_foreign_number_notes_nothing(client, technician, record):
    client.force_login(technician)

    client.post(ADDRESS, {"number": [record.number, "x"], "given_on": "2026-07-07", "way": "hand"})

    assert not CopyGiven.objects.exists()


@pytest.mark.parametrize(
    ("on", "is_kept"), [(date(2026, 12, 31), False), (date(2027, 1, 20), True)]
)
def test_a_return_is_filed_after_its_period(owner, on, is_kept):
    # [NY-ECL-33] by 1 February for the year before
    rule, at = return_rule("US-NY"), datetime(2027, 1, 25, 12, tzinfo=UTC)
    told = {"on": on, "how": "by post", "by": owner, "at": at}

    if is_kept:
        assert [file_return(rule, date(2026, 1, 1), **told) for _time in range(2)] == [True, False]
    else:
        with pytest.raises(ValidationError):
            file_return(rule, date(2026, 1, 1), **told)

    assert ReturnFiled.objects.count() == is_kept


def page(client, address):
    return " ".join(client.get(address).content.decode().split())
