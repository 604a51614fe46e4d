"""One process: the promises of SQLite, the worker beside the pages, who sent a request."""

import threading

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.urls import reverse

from services.project import serving
from services.project.celery import app
from services.project.proxies import sender_of


def test_sqlite_keeps_what_it_was_asked_for(db):
    serving.check_promises()


def test_a_sqlite_that_may_lose_the_last_records_is_refused(db, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("It is a promise of SQLite.")
    monkeypatch.setitem(serving.SQLITE_PROMISES, "synchronous", 3)

    with pytest.raises(ImproperlyConfigured, match="synchronous at 2, not at 3"):
        serving.check_promises()


def test_unchanged_static_files_are_not_gathered_again(settings, tmp_path, monkeypatch):
    gathered = []
    settings.STATIC_ROOT = tmp_path
    monkeypatch.setattr(serving, "call_command", lambda name, **options: gathered.append(name))

    serving.collect_static_files()
    serving.collect_static_files()

    assert gathered == ["collectstatic"]


def test_the_worker_beside_the_pages_does_what_it_is_sent_and_stops():
    if app.conf.broker_url != "memory://localhost":
        pytest.skip("With a broker the workers run apart.")
    app.control.purge()  # what tests before this one sent to nobody
    rung = threading.Event()

    @app.task
    def ring():
        rung.set()

    with serving.background_work():
        ring.delay()
        assert rung.wait(timeout=20)

    assert not [thread for thread in threading.enumerate() if thread.name in ("worker", "clock")]


def test_the_outbox_is_swept_each_minute_by_a_task_that_exists():
    app.loader.import_default_modules()
    sweep = app.conf.beat_schedule["sweep the outbox"]

    assert sweep["schedule"].total_seconds() == 60
    assert sweep["task"] in app.tasks


@pytest.mark.parametrize(
    ("proxies", "sender"), [(0, "127.0.0.1"), (1, "198.51.100.7"), (2, "203.0.113.9")]
)
def test_only_what_our_own_proxies_wrote_is_believed(rf, settings, proxies, sender):
    settings.PROXIES = proxies
    request = rf.get("/", headers={"X-Forwarded-For": "203.0.113.9, 198.51.100.7"})

    assert sender_of(request) == sender


def test_a_short_header_is_not_believed(rf, settings):
    settings.PROXIES = 2

    assert sender_of(rf.get("/", headers={"X-Forwarded-For": "203.0.113.9"})) == "127.0.0.1"


def test_every_answer_names_its_request(client):
    assert len(client.get(reverse("healthz")).headers["X-Request-ID"]) == 32
