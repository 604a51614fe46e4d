"""A letter that is written into the outbox is sent by a worker of its own, over a real broker."""

import os
import subprocess
import sys
import time
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from services.completing import ApplicationReport, complete_visit
from services.models import Course, Outbox, Visit
from services.telling import sweep

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 90  # seconds; a worker on a busy machine takes ten to start

pytestmark = [pytest.mark.needs_broker, pytest.mark.django_db(transaction=True)]


@pytest.fixture(scope="module", autouse=True)
def broker():
    """Skip without a broker, but fail where all checks are to run."""
    if settings.BROKER_URL:
        return
    if os.environ.get("DUSKBOOK_CI") == "1":
        pytest.fail("BROKER_URL is not set, and no test is left out here.")
    pytest.skip("BROKER_URL is not set; with amqp://... a worker is started.")


@pytest.fixture
def data(tmp_path):
    """Give the worker a data folder in which it finds the test's database."""
    if connection.vendor == "sqlite":
        (tmp_path / "duskbook.sqlite3").symlink_to(connection.settings_dict["NAME"])
    return tmp_path


@pytest.fixture
def worker(data):
    """Start a worker in a process of its own, and stop it at the end."""
    words = ["celery", "-A", "services.project", "worker", "--pool=solo", "--loglevel=WARNING"]
    words += ["--without-gossip", "--without-mingle", f"--hostname=test-{os.getpid()}"]
    with (data / "worker.log").open("w") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", *words],
            cwd=ROOT,
            env=os.environ | surroundings(data),
            stdout=log,
            stderr=log,
        )
        yield process
        process.terminate()
        process.wait(timeout=60)


def surroundings(data):
    """Return the variables by which a worker finds the database and the folder of the test."""
    database = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    postgres = {name: str(database[key]) for name, key in names.items() if database.get(key)}
    if connection.vendor == "postgresql":
        postgres |= {"PGDATABASE": database["NAME"], "DATABASE_URL": ""}
    return {"DUSKBOOK_DATA": str(data), "DUSKBOOK_MAIL_HOST": "", **postgres}


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


def letters(data):
    """Return the mails that the worker wrote into its folder."""
    folder = data / "mail"
    return [path.read_text() for path in sorted(folder.glob("*"))] if folder.exists() else []


def test_a_worker_sends_the_letter_once(worker, data, made):
    row = Outbox.objects.get(kind=Outbox.Kind.CLIENT_SUMMARY)

    assert sent(row), (row.last_error, (data / "worker.log").read_text())

    (letter,) = letters(data)
    assert "To: reader@example.org" in letter
    assert 'filename="summary.pdf"' in letter
