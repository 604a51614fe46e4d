"""A client who leaves is forgotten; what was applied for them is kept."""

from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError

from services.models import ClientLink, Visit
from services.removing import remove_client
from services.telling import make_link
from services.verifying import verify
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import record_application

NOON = datetime(2026, 8, 4, 16, tzinfo=UTC)


def test_the_card_names_nobody_and_records_say_what_they_said(stated, reading_society, owner):
    record_application(**stated)
    make_link(reading_society, now=NOON)
    stated["planting"].property.neighbours.create(name="Mrs Next", phone="555-0101")

    assert remove_client(reading_society, by=owner, at=NOON)

    reading_society.refresh_from_db()
    assert reading_society.postal_address() == f"Former client {reading_society.pk}"
    assert (reading_society.phone, reading_society.email) == ("", "")
    assert not ClientLink.objects.get().is_open_at(NOON)
    assert not stated["planting"].property.neighbours.exists()
    assert ApplicationRecord.objects.get().customer_name == "Reading Society"
    assert verify().count == 0


def test_a_second_time_removes_nothing(reading_society, owner):
    remove_client(reading_society, by=owner, at=NOON)

    assert not remove_client(reading_society, by=owner, at=NOON)
    assert JournalEntry.objects.count() == 1


def test_a_client_with_visits_to_come_stays(visits, reading_society, owner, client):
    with pytest.raises(ValidationError, match="end the courses first"):
        remove_client(reading_society, by=owner, at=NOON)

    client.force_login(owner)
    page = client.post(f"/clients/{reading_society.pk}/remove/", follow=True)
    assert "end the courses first" in page.content.decode()
    reading_society.refresh_from_db()
    assert reading_society.name == "Reading Society"


def test_the_owner_removes_a_client_on_the_page(visits, reading_society, owner, client):
    Visit.objects.update(state=Visit.State.CANCELLED)
    client.force_login(owner)

    assert (
        "cannot be undone" in client.get(f"/clients/{reading_society.pk}/remove/").content.decode()
    )
    client.post(f"/clients/{reading_society.pk}/remove/")

    reading_society.refresh_from_db()
    assert reading_society.name == f"Former client {reading_society.pk}"
