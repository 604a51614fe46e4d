"""A letter that is written into the outbox is sent by a worker of its own, over a real broker."""

import time
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from services.completing import ApplicationReport, complete_visit
from services.models import Course, Outbox, Visit
from services.telling import sweep
from tests.journeys.workers import letters, started

PATIENCE = 90  # seconds; a worker on a busy machine takes ten to start

pytestmark = [
    pytest.mark.needs_broker,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("broker"),
]


@pytest.fixture
def worker(data):
    """Start a worker in a process of its own, and stop it at the end."""
    process = started(data)
    yield process
    process.terminate()
    process.wait(timeout=60)


@pytest.fixture
def made(rose_bed, three_weeks, business, soap_lot, applicator):
    """A visit of today that is completed now, with its letter in the outbox."""
    client = rose_bed.property.client
    client.email = "reader@example.org"
    client.save()
    today = timezone.localdate()
    course = Course.objects.create(
        property=rose_bed.property, rotation=three_weeks, first_day=today
    )
    course.plantings.add(rose_bed)
    visit = Visit.objects.create(
        course=course,
        rotation_week=three_weeks.weeks.get(week=1),
        earliest=today,
        planned=today,
        latest=today,
    )
    now = timezone.now()
    complete_visit(
        visit,
        reports=[ApplicationReport(rose_bed, soap_lot, Decimal(6), Decimal(3))],
        started_at=now - timedelta(minutes=30),
        done_at=now,
        by=applicator.user,
        applicator=applicator,
    )
    return visit


def sent(row):
    """Wait until a row is done, ringing again as the sweep does; say whether it was."""
    for _second in range(PATIENCE):
        row.refresh_from_db()
        if row.done_at or row.failed_at:
            break
        sweep(timezone.now())
        time.sleep(1)
    return row.done_at is not None


def test_a_worker_sends_the_letter_once(worker, data, made):
    row = Outbox.objects.get(kind=Outbox.Kind.CLIENT_SUMMARY)

    assert sent(row), (row.last_error, (data / "worker.log").read_text())

    (letter,) = letters(data)
    assert "To: reader@example.org" in letter
    assert 'filename="summary.pdf"' in letter
