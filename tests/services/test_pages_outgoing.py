"""The page of what goes out: what failed and why, what waits, what has gone, and another try."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from services.models import Outbox
from services.telling.outbox import ENDED_WITHOUT_REASON

NOW = datetime(2026, 7, 6, 14, tzinfo=UTC)


@pytest.fixture
def failed(visits, reading_society, on_monday):
    """A notice to the client that could not be sent."""
    return notice(visits[0], reading_society, "first", failed_at=NOW, last_error="No such address.")


def notice(visit, reader, key, **columns):
    return Outbox.objects.create(
        kind=Outbox.Kind.NOTICE,
        arguments={"visit": visit.pk, "client": reader.pk},
        dedupe_key=key,
        not_before=NOW,
        **columns,
    )


def test_what_failed_says_why_to_whom_and_for_which_visit(client, owner, failed):
    client.force_login(owner)
    page = client.get("/outgoing/").content.decode()

    for word in ("No such address.", "Reading Society", "Library", "Try again"):
        assert word in page


def test_why_it_failed_is_told_in_the_readers_language(client, owner, failed):
    Outbox.objects.update(last_error=ENDED_WITHOUT_REASON)
    client.force_login(owner)
    client.cookies["django_language"] = "es"
    page = client.get("/outgoing/").content.decode()

    assert "Se intentó" in page
    assert ENDED_WITHOUT_REASON not in page


def test_what_waits_and_what_has_gone_stand_apart(client, owner, failed, visits, reading_society):
    notice(visits[1], reading_society, "waits")
    notice(visits[2], reading_society, "gone", done_at=NOW)
    client.force_login(owner)
    context = client.get("/outgoing/").context

    assert [each.row.dedupe_key for each in context["failed"]] == ["first"]
    assert [each.row.dedupe_key for each in context["waiting"]] == ["waits"]
    assert [each.row.dedupe_key for each in context["gone"]] == ["gone"]


def test_another_try_makes_it_wait_again(client, dispatcher, failed):
    client.force_login(dispatcher)
    address = reverse("services:try_again", args=[failed.pk])
    client.post(address)
    failed.refresh_from_db()

    assert failed.failed_at is None
    assert "It is tried again now." in client.get("/outgoing/").content.decode()


def test_what_did_not_fail_is_not_tried_again(client, dispatcher, failed, visits, reading_society):
    gone = notice(visits[1], reading_society, "gone", done_at=NOW)
    client.force_login(dispatcher)
    client.post(reverse("services:try_again", args=[gone.pk]))
    gone.refresh_from_db()

    assert gone.done_at == NOW
    assert client.get(reverse("services:try_again", args=[gone.pk])).status_code == 405


def test_an_unknown_row_is_not_found(client, owner):
    client.force_login(owner)

    assert client.post(reverse("services:try_again", args=[9999])).status_code == 404


def test_what_goes_out_is_for_the_staff(client, technician, inspector):
    assert client.get("/outgoing/").url.startswith("/accounts/login/")
    for user in (technician, inspector):
        client.force_login(user)
        assert client.get("/outgoing/").status_code == 403


def test_an_applicator_reads_and_does_not_send(client, applicator, failed):
    client.force_login(applicator.user)

    assert "Try again" not in client.get("/outgoing/").content.decode()
    assert client.post(reverse("services:try_again", args=[failed.pk])).status_code == 403


def test_the_page_takes_as_many_queries_for_three_rows_as_for_one(
    queries_of, failed, visits, reading_society
):
    first = queries_of("/outgoing/")
    notice(visits[1], reading_society, "second")
    notice(visits[2], reading_society, "third")

    assert queries_of("/outgoing/") == first
