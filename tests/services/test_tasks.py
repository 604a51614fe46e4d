"""Celery's doors: each calls one action, carries ids, and may run twice."""

from datetime import UTC, datetime

import pytest
from django.core import mail

from services import tasks, telling
from services.models import Outbox, Technician
from services.project.celery import app

LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.fixture
def notice(visits, business):
    """A notice that is due."""
    return telling.queue_notices(visits[0], now=LONG_AGO)[0]


def test_a_delivery_that_runs_twice_sends_once(notice):
    Outbox.objects.update(not_before=LONG_AGO)

    first, second = tasks.deliver_outbox(notice.pk), tasks.deliver_outbox(notice.pk)

    assert (first, second, len(mail.outbox)) == (True, False, 1)


def test_the_sweep_counts_what_waits(notice):
    Outbox.objects.update(not_before=LONG_AGO)

    assert tasks.sweep_outbox() == 1


def test_the_row_of_a_lost_message_goes_out_with_the_next_sweep(
    notice, django_capture_on_commit_callbacks, monkeypatch
):
    Outbox.objects.update(not_before=LONG_AGO)
    monkeypatch.setattr(
        "services.telling.outbox.current_app.send_task",
        lambda name, arguments, retry: app.tasks[name](*arguments),
    )

    with django_capture_on_commit_callbacks(execute=True):
        tasks.sweep_outbox()

    assert len(mail.outbox) == 1


def test_the_name_the_beat_and_the_bell_use_is_a_task():
    names = {entry["task"] for entry in app.conf.beat_schedule.values()}

    assert names | {"services.tasks.deliver_outbox"} <= set(app.tasks)


def test_a_crew_gets_its_sheets_by_mail(dispatched, technician, monkeypatch):
    technician.email = "crew@example.org"
    technician.save()
    monkeypatch.setattr("services.printing.visit_sheets_pdf", lambda *a, **k: b"%PDF-1.7")
    row = telling.queue(
        Outbox.Kind.CREW_SHEET,
        arguments={
            "dispatch": dispatched.dispatch_id,
            "technician": Technician.objects.get(user=technician).pk,
        },
        dedupe_key="crew sheet:1",
        not_before=LONG_AGO,
    )

    telling.deliver(row.pk)

    assert mail.outbox[0].attachments[0].filename == "sheets.pdf"
    assert mail.outbox[0].subject.startswith("Visit sheets of Crew one")
