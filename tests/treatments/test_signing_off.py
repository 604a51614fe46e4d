"""Who holds a certificate signs records; nobody else, each once, and for good."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse

from treatments.models import ApplicationRecord, JournalEntry, RecordSigned
from treatments.recording import amend_application, record_application, void_application
from treatments.signing_off import answered_for_by, sign_records, unsigned
from treatments.views import records_due

NOW = datetime(2026, 7, 6, 22, 50, tzinfo=UTC)
ADDRESS = "/records/sign/"


@pytest.fixture
def record(stated):
    return record_application(**stated, now=NOW)


def test_a_certified_applicator_signs_and_the_journal_has_it(record, applicator):
    count = sign_records([record], by=applicator.user, at=NOW)

    body = json.loads(JournalEntry.objects.latest("seq").body)
    assert count == 1
    assert body["certificate_number"] == applicator.certificates.get().number
    assert (body["record"], body["signer_name"]) == (record.number, applicator.name)


def test_signing_twice_is_signing_once(record, applicator):
    sign_records([record], by=applicator.user, at=NOW)

    again = sign_records([record], by=applicator.user, at=NOW + timedelta(hours=1))

    assert again == 0
    assert RecordSigned.objects.get().signed_at == NOW


def test_without_a_certificate_nobody_signs(record, owner, applicator):
    applicator.certificates.update(expires_on=date(2025, 6, 1))

    for person in (owner, applicator.user):
        with pytest.raises(ValidationError, match="holds a certificate"):
            sign_records([record], by=person, at=NOW)

    assert not RecordSigned.objects.exists()


def test_what_was_amended_or_is_void_is_not_signed_and_its_amendment_is_unsigned(
    record, applicator
):
    sign_records([record], by=applicator.user, at=NOW)
    second = amend_application(
        record, reason="The wind was read twice.", by=applicator.user, wind_direction="NW"
    )

    with pytest.raises(ValidationError, match="does not stand"):
        sign_records([record], by=applicator.user, at=NOW)
    assert list(unsigned(ApplicationRecord.objects.all())) == [second]
    void = void_application(second, reason="It was another garden.", by=applicator.user)
    with pytest.raises(ValidationError, match="does not stand"):
        sign_records([void], by=applicator.user, at=NOW)


def test_a_signature_stays_as_it_was(record, applicator):
    sign_records([record], by=applicator.user, at=NOW)
    row = RecordSigned.objects.get()

    with pytest.raises(ValidationError):
        row.save()
    with pytest.raises(DatabaseError), transaction.atomic():
        RecordSigned.objects.all()._raw_delete(using="default")

    assert RecordSigned.objects.get() == row


def test_a_person_answers_for_what_he_or_she_applied_or_supervised(
    record, stated, applicator, technician
):
    kept = ApplicationRecord.objects.all()

    assert list(answered_for_by(applicator.user, kept)) == [record]
    assert not answered_for_by(technician, kept)


def test_the_page_signs_and_tells_who_signed(client, record, applicator):
    client.force_login(applicator.user)
    page = reverse("treatments:record", args=[record.number])
    before = client.get(page).content.decode()

    answer = client.post(ADDRESS, {"number": record.number}, follow=True)

    after = answer.content.decode()
    assert "Sign this record" in before
    assert "1 record is signed." in after
    assert "Sign this record" not in after
    assert f"certificate {applicator.certificates.get().number}" in after


def test_records_that_wait_are_signed_together(client, record, applicator):
    client.force_login(applicator.user)

    due = client.get("/records/due/").content.decode()
    client.post(ADDRESS, {"number": [record.number, "none", "999999", "9" * 30]})

    assert "To be signed by you" in due
    assert "To be signed by you" not in client.get("/records/due/").content.decode()


@pytest.mark.parametrize(
    ("shown", "counted", "words"),
    [(3, 5, ""), (1, 5, "2 more follow."), (1, 1, "More than 1 more follow.")],
)
def test_how_many_follow_is_counted_up_to_some(
    client, record, stated, applicator, monkeypatch, shown, counted, words
):
    for minutes in (1, 2):
        record_application(**stated | {"done_at": record.done_at + timedelta(minutes=minutes)})
    monkeypatch.setattr(records_due, "SIGNED_AT_ONCE", shown)
    monkeypatch.setattr(records_due, "MOST_COUNTED", counted)
    client.force_login(applicator.user)

    page = client.get("/records/due/").content.decode()

    assert ("follow." in page) is (shown < 3)
    assert page.count('name="number"') == shown
    assert words in page


def test_who_may_not_sign_is_told_so(client, record, owner, dispatcher):
    client.force_login(dispatcher)
    assert client.post(ADDRESS, {"number": record.number}).status_code == 403
    client.force_login(owner)

    told = client.post(ADDRESS, {"number": record.number}, follow=True).content.decode()

    assert "Who signs a record holds a certificate." in told
    assert not RecordSigned.objects.exists()


def test_programs_sign_and_read_who_signed(api, record, applicator, owner):
    address = f"/api/v1/records/{record.number}/"
    api.force_authenticate(owner)
    refused = api.post(f"{address}sign/")
    api.force_authenticate(applicator.user)

    signed = api.post(f"{address}sign/")

    assert refused.status_code == 400
    assert api.get(address).data["signed"] == signed.data["signed"]
    assert signed.data["signed"]["certificate_number"] == "PA-0007"
