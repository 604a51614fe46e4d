"""What must reach the outside: once in effect, or shown to a person with the reason."""

from datetime import UTC, datetime, timedelta
from smtplib import SMTPServerDisconnected
from threading import Thread
from types import SimpleNamespace

import pytest
from django.core import mail
from django.db import connection
from django.utils import timezone

from services import telling
from services.models import ClientLink, Outbox
from services.telling import letters, outbox
from services.telling.wording import notice_in
from treatments.models import CopyGiven
from treatments.recording import record_application

NOW = datetime(2026, 7, 6, 23, tzinfo=UTC)


@pytest.fixture
def printer(monkeypatch):
    """Drawing summaries, which tests of letters need not do."""
    drawn = SimpleNamespace(summary_pdf=lambda visit: b"%PDF-1.7 a summary")
    monkeypatch.setattr(letters, "import_module", lambda name: drawn)
    return drawn


@pytest.fixture
def summary(done_visit, printer):
    """A summary that waits to go out."""
    return telling.queue(
        Outbox.Kind.CLIENT_SUMMARY,
        arguments={"visit": done_visit.pk},
        dedupe_key="client summary:1",
        not_before=NOW,
    )


@pytest.fixture
def no_mail_server(monkeypatch):
    """A mail server that hangs up."""

    def hang_up(letter):
        raise SMTPServerDisconnected("Connection unexpectedly closed")

    monkeypatch.setattr("django.core.mail.EmailMessage.send", hang_up)


def test_what_is_queued_twice_is_one_row(summary):
    again = telling.queue(
        Outbox.Kind.CLIENT_SUMMARY,
        arguments={"visit": 2},
        dedupe_key="client summary:1",
        not_before=NOW,
    )

    assert again == summary
    assert Outbox.objects.get().arguments == summary.arguments


def test_a_delivered_row_is_mailed_once(summary):
    first = telling.deliver(summary.pk, now=NOW)
    second = telling.deliver(summary.pk, now=NOW)

    assert (first, second, len(mail.outbox)) == (True, False, 1)
    summary.refresh_from_db()
    assert summary.done_at
    assert summary.sending_since is None


def test_the_summary_carries_the_sheet_and_goes_to_the_client(summary):
    telling.deliver(summary.pk, now=NOW)

    letter = mail.outbox[0]
    assert letter.to == ["reader@example.org"]
    assert letter.attachments[0].filename == "summary.pdf"
    assert "Library" in letter.subject


def test_nothing_is_sent_before_its_time(summary):
    early = telling.deliver(summary.pk, now=NOW - timedelta(seconds=1))

    assert not early
    assert telling.deliver(summary.pk, now=NOW)


def test_what_another_worker_has_in_hand_is_left_to_it(summary):
    telling.claim(summary.pk, now=NOW)

    assert telling.claim(summary.pk, now=NOW + outbox.LEASE) is None
    assert telling.claim(summary.pk, now=NOW + outbox.LEASE + timedelta(seconds=1))


# The pauses of 1, 5, 15 and 60 minutes are our own choice.
@pytest.mark.parametrize(("attempt", "minutes"), [(1, 1), (2, 5), (3, 15), (4, 60)])
def test_a_mail_that_failed_waits_longer_each_time(summary, no_mail_server, attempt, minutes):
    Outbox.objects.update(attempts=attempt - 1)

    telling.deliver(summary.pk, now=NOW)

    summary.refresh_from_db()
    assert summary.not_before == NOW + timedelta(minutes=minutes)
    assert "unexpectedly closed" in summary.last_error
    assert summary.sending_since is None


def test_the_fifth_failure_is_the_last(summary, no_mail_server):
    Outbox.objects.update(attempts=4)

    telling.deliver(summary.pk, now=NOW)

    summary.refresh_from_db()
    assert summary.failed_at == NOW
    assert not telling.deliver(summary.pk, now=NOW + timedelta(days=1))


def test_a_mail_found_half_sent_is_shown_to_a_person_and_not_sent_again(summary):
    Outbox.objects.update(sending_since=NOW, leased_until=NOW + timedelta(minutes=10), attempts=1)

    telling.deliver(summary.pk, now=NOW + timedelta(minutes=11))

    summary.refresh_from_db()
    assert summary.failed_at
    assert summary.last_error == outbox.HALF_SENT
    assert not mail.outbox


def test_a_person_may_have_a_failed_mail_sent_again(summary, no_mail_server, monkeypatch):
    Outbox.objects.update(failed_at=NOW, attempts=5)

    assert telling.send_again(summary, now=NOW)
    assert not telling.send_again(summary, now=NOW)
    assert telling.claim(summary.pk, now=NOW).attempts == 1


def test_a_client_without_an_address_is_for_a_person_to_tell(summary, reading_society):
    reading_society.email = ""
    reading_society.save()

    telling.deliver(summary.pk, now=NOW)

    summary.refresh_from_db()
    assert summary.failed_at == NOW
    assert "no email address" in summary.last_error


def test_the_sweep_gives_up_what_ended_five_times_unforeseen(summary):
    Outbox.objects.update(attempts=5, leased_until=NOW)

    rung = telling.sweep(NOW + timedelta(seconds=1))

    summary.refresh_from_db()
    assert (rung, summary.last_error) == (0, outbox.ENDED_WITHOUT_REASON)


def test_the_sweep_rings_for_what_is_due(summary, django_capture_on_commit_callbacks, monkeypatch):
    rung = []
    monkeypatch.setattr(outbox, "_send_message", rung.append)

    with django_capture_on_commit_callbacks(execute=True):
        telling.sweep(NOW)

    assert rung == [summary.pk]


def test_a_broker_that_is_down_stops_nobody(
    done_visit, django_capture_on_commit_callbacks, monkeypatch
):
    def refuse(*args, **kwargs):
        raise ConnectionRefusedError

    monkeypatch.setattr(outbox.current_app, "send_task", refuse)

    with django_capture_on_commit_callbacks(execute=True):
        telling.queue(Outbox.Kind.NOTICE, arguments={}, dedupe_key="n", not_before=NOW)

    assert Outbox.objects.filter(dedupe_key="n").exists()


def test_all_that_is_due_goes_out_without_a_worker(summary):
    assert telling.deliver_due(NOW) == 1
    assert telling.deliver_due(NOW) == 0


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_of_two_workers_one_sends(summary):
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")

    threads = [Thread(target=deliver_and_close, args=(summary.pk,)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(mail.outbox) == 1


def deliver_and_close(outbox_id):
    telling.deliver(outbox_id, now=NOW)
    connection.close()


def test_a_notice_names_day_place_and_product(visits, reading_society, business):
    rows = telling.queue_notices(visits[0], now=NOW)
    again = telling.queue_notices(visits[0], now=NOW)

    telling.deliver(rows[0].pk, now=NOW)

    assert again == rows
    assert "Quiet Soap (EPA Reg. No. 0-101)" in mail.outbox[0].body
    assert "2 Shelf Street" in mail.outbox[0].body


def test_a_notice_of_a_business_without_telephone_ends_with_its_name(
    visits, reading_society, business
):
    text = notice_in("en", visits[0]).text

    assert text.endswith(f"told otherwise: {business.name}\n")


def test_a_notice_is_given_once_it_has_gone_out(visits):
    rows = telling.queue_notices(visits[0], now=NOW)
    before = telling.notices_given(visits)

    telling.deliver(rows[0].pk, now=NOW)

    assert before == frozenset()
    assert telling.notices_given(visits) == {rows[0].dedupe_key}


def test_a_client_who_wants_no_notice_gets_none(visits, reading_society):
    visits[0].course.property.client.wants_notice = False

    assert telling.people_to_tell(visits[0]) == []


def test_a_notice_in_spanish_is_written_for_a_client_who_reads_it(visits, reading_society):
    reading_society.language = "es"
    reading_society.save()

    telling.deliver(telling.queue_notices(visits[0], now=NOW)[0].pk, now=NOW)

    assert "araña roja de dos puntos" in mail.outbox[0].body


def test_a_link_opens_its_clients_page_until_it_ends(reading_society):
    token = telling.make_link(reading_society, now=NOW)

    last = NOW + timedelta(days=90) - timedelta(seconds=1)
    assert telling.client_of(token, last) == reading_society
    with pytest.raises(telling.LinkEnded):
        telling.client_of(token, NOW + timedelta(days=90))


def test_of_a_link_only_the_digest_is_kept(reading_society):
    token = telling.make_link(reading_society, now=NOW)

    kept = ClientLink.objects.get()
    assert len(token) == 43
    assert token not in str(vars(kept))


def test_a_link_taken_back_is_ended_and_one_never_made_is_unknown(reading_society):
    token = telling.make_link(reading_society, now=NOW)

    assert telling.revoke_link(ClientLink.objects.get(), at=NOW)
    assert not telling.revoke_link(ClientLink.objects.get(), at=NOW)

    with pytest.raises(telling.LinkEnded):
        telling.client_of(token, NOW)
    with pytest.raises(telling.LinkUnknown):
        telling.client_of(token + "x", NOW)


def test_a_copy_that_is_mailed_counts_as_given(stated, reading_society):
    reading_society.email = "society@example.org"
    reading_society.save()
    record = record_application(**stated)
    rows = {telling.mail_copy(record, now=timezone.now()).pk for _time in range(2)}

    assert telling.deliver(rows.pop())
    assert not rows

    (letter,) = mail.outbox
    given = CopyGiven.objects.get(record=record)
    assert letter.attachments[0][0] == f"application-record-{record.number}.pdf"
    assert (given.way, given.given_by) == ("mail", None)
