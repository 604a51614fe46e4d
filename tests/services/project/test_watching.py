"""Health, readiness and figures: they say the truth, and to nobody who must not have it."""

from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.urls import reverse
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from services import telling, watching
from services.models import Check, Outbox
from services.project import metrics
from services.queues import QUEUES

TOKEN = "a-token-of-the-one-who-watches"


@pytest.fixture
def workers():
    """Workers of every queue were heard of just now."""
    for queue in QUEUES:
        watching.beat_pulse(queue, now=timezone.now())


def test_the_process_says_that_it_is_well_without_a_database(client):
    assert client.get(reverse("healthz")).content == b"well\n"


@pytest.mark.django_db
def test_a_book_is_ready_with_its_tables_and_workers(client, workers):
    assert client.get(reverse("readyz")).content == b"ready\n"


@pytest.mark.django_db
def test_a_worker_that_was_not_heard_of_is_told_and_pages_are_served(client, workers):
    watching.beat_pulse("outside", now=timezone.now() - timedelta(minutes=6))
    watching.beat_pulse("heavy", now=timezone.now() - timedelta(minutes=6))

    answer = client.get(reverse("readyz"))

    assert answer.status_code == 200
    assert answer.content == b"ready\nno worker heard of: outside\n"


@pytest.mark.django_db
def test_a_book_that_was_not_brought_up_to_date_is_not_ready(client, workers):
    MigrationRecorder(connection).record_unapplied("services", "0026_signs_of_life")

    answer = client.get(reverse("readyz"))

    assert (answer.status_code, answer.content) == (503, b"migrations wait\n")


def test_without_a_database_nothing_is_ready(client, monkeypatch):
    def fail():
        raise OperationalError

    monkeypatch.setattr("services.project.health.migrations_waiting", fail)
    answer = client.get(reverse("readyz"))

    assert (answer.status_code, answer.content) == (503, b"no database\n")


@pytest.mark.django_db
def test_there_are_no_figures_until_a_token_is_set(client, owner):
    client.force_login(owner)

    assert client.get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize(
    "sent", ["", "Bearer", "Bearer wrong", f"Basic {TOKEN}", TOKEN, "Bearer é"]
)
def test_figures_are_told_to_nobody_without_the_token(client, owner, settings, sent):
    settings.METRICS_TOKEN = TOKEN
    client.force_login(owner)

    answer = client.get("/metrics", headers={"Authorization": sent})

    assert answer.status_code == 401
    assert b"duskbook" not in answer.content


def read(client):
    """Return the figures as another's reader reads them: by name and labels."""
    answer = client.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    return {
        (each.name, tuple(sorted(each.labels.items()))): each.value
        for family in text_string_to_metric_families(answer.content.decode())
        for each in family.samples
    }


@pytest.fixture
def watched(settings, client):
    """Read the figures with the token, counting requests as the settings with a token do."""
    settings.METRICS_TOKEN = TOKEN
    settings.MIDDLEWARE = ["services.project.metrics.RequestsCounted", *settings.MIDDLEWARE]
    return lambda: read(client)


@pytest.mark.django_db
def test_jobs_are_told_by_kind_and_state_with_the_age_of_the_oldest(watched, visits, business):
    notice = telling.queue_notices(visits[0], now=timezone.now())[0]
    Outbox.objects.exclude(pk=notice.pk).delete()
    Outbox.objects.update(not_before=timezone.now() - timedelta(hours=2))

    told = watched()
    Outbox.objects.update(failed_at=timezone.now())
    later = watched()

    kind = ("kind", "notice")
    assert told["duskbook_outbox_items", (kind, ("state", "due"))] == 1
    assert 7_200 <= told["duskbook_outbox_oldest_due_seconds", (kind,)] < 7_300
    assert later["duskbook_outbox_items", (kind, ("state", "failed"))] == 1
    assert ("duskbook_outbox_items", (kind, ("state", "due"))) not in later
    assert told["duskbook_long_work_items", (("kind", "planning"), ("state", "due"))] == 0


@pytest.mark.django_db
def test_workers_dispatch_and_checks_are_told(watched, workers, visits, stated):
    watching.check_book(now=timezone.now())

    told = watched()

    seen = told["duskbook_worker_seen_timestamp_seconds", (("queue", "heavy"),)]
    assert abs(seen - timezone.now().timestamp()) < 60
    assert told["duskbook_verify_faults", ()] == 0
    assert abs(told["duskbook_verify_timestamp_seconds", ()] - timezone.now().timestamp()) < 60
    assert told["duskbook_dispatches_today", ()] == 0
    assert told["duskbook_database_answers", ()] == 1
    assert told["duskbook_migrations_waiting", ()] == 0
    assert told["duskbook_data_free_bytes", ()] > 0


@pytest.mark.django_db
def test_requests_are_counted_by_address_and_never_by_whose(watched, client, owner, library):
    client.force_login(owner)
    page = reverse("services:property", args=[library.pk])
    labels = (("address", "services:property"), ("method", "GET"), ("status", "200"))
    before = watched().get(("duskbook_requests_total", labels), 0)

    client.get(page)
    client.get("/nothing/here/")

    told = watched()
    assert told["duskbook_requests_total", labels] == before + 1
    assert not [key for key in told if "here" in str(key) or page in str(key)]


@pytest.mark.django_db
def test_figures_name_nobody(watched, workers, visits, business, reading_society):
    text = str(watched())

    for private in (reading_society.name, reading_society.street, business.name):
        assert private not in text


@pytest.mark.django_db
def test_the_figures_say_so_when_the_database_does_not_answer(watched, monkeypatch):
    def fail(now):
        raise OperationalError

    monkeypatch.setattr(metrics, "figures", fail)

    assert watched()["duskbook_database_answers", ()] == 0


@pytest.mark.django_db
def test_the_number_of_questions_does_not_grow(watched, visits, django_assert_max_num_queries):
    with django_assert_max_num_queries(22):
        watched()


@pytest.mark.django_db
def test_the_book_is_checked_once_a_day_and_a_fault_is_kept(monkeypatch, stated, caplog):
    from treatments.rules.journal_walk import Fault
    from treatments.verifying import Verdict

    now = timezone.now()
    found = Verdict(size=5)
    found.add([Fault(3, "leaf hash")])
    monkeypatch.setattr("services.watching.checks.verify", lambda: found)

    check, again = watching.check_book(now=now), watching.check_book(now=now)

    assert (check.entries, check.faults, again) == (5, 1, None)
    assert check.first_fault
    assert watching.last_check() == check
    assert "the book was altered" in caplog.text


@pytest.mark.django_db
def test_a_check_that_was_broken_off_is_begun_again_the_next_day_and_is_no_result(monkeypatch):
    def end(_outside=()):
        raise MemoryError

    now = timezone.now()
    with monkeypatch.context() as context:
        context.setattr("services.watching.checks.verify", end)
        with pytest.raises(MemoryError):
            watching.check_book(now=now)

    assert watching.check_book(now=now) is None
    assert watching.last_check() is None
    assert watching.check_book(now=now + timedelta(days=1)).ended_at
    assert Check.objects.count() == 2
