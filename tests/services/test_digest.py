"""Each morning an owner is told what is late, due, lapsing, short or stuck, and else nothing."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.utils import timezone

from services import telling
from services.models import Outbox, Technician, Visit
from services.showing.digest import MOST_LINES, DigestPart, digest_of
from treatments.posting import take_down
from treatments.recording import record_application

NOON = datetime(2026, 7, 6, 16, tzinfo=UTC)  # 12:00 in New York
BEFORE_DAWN = datetime(2026, 7, 6, 8, tzinfo=UTC)  # 4:00 in New York


@pytest.fixture
def lapsing(applicator):
    """A certificate that lapses in a week."""
    certificate = applicator.certificates.get()
    certificate.expires_on = date(2026, 7, 13)
    certificate.save()
    return certificate


@pytest.fixture
def reader(owner, yard):
    """The owner, with an address."""
    owner.email = "owner@example.org"
    owner.save()
    return owner


def told(owner, now=NOON):
    return {part.heading: part.lines for part in digest_of(owner, now).parts}


def test_a_quiet_day_has_no_mail(reader):
    assert not digest_of(reader, NOON).parts
    assert telling.queue_digests(now=NOON) == 0


def test_a_certificate_that_lapses_is_told_of_once_a_day(reader, lapsing):
    # 60, 30 and 7 days before the end: common practice
    assert "lapses in 7 days" in told(reader)["Certificates"][0]

    assert telling.queue_digests(now=NOON) == 1
    telling.queue_digests(now=NOON + timedelta(hours=1))
    assert Outbox.objects.filter(kind=Outbox.Kind.DIGEST).count() == 1
    telling.queue_digests(now=NOON + timedelta(days=1))
    assert Outbox.objects.filter(kind=Outbox.Kind.DIGEST).count() == 2


def test_nobody_is_woken(reader, lapsing):
    assert telling.queue_digests(now=BEFORE_DAWN) == 0


def test_who_has_no_address_is_not_written_to(owner, yard, lapsing):
    assert telling.queue_digests(now=NOON) == 0


def test_a_visit_whose_last_day_is_over_is_named(reader, course):
    Visit.objects.filter(course=course).update(
        earliest=date(2026, 7, 1), planned=date(2026, 7, 2), latest=date(2026, 7, 3)
    )

    (line, *_others) = told(reader)["Visits whose last day is over"]

    assert course.property.name in line
    assert course.rotation.name in line


def test_what_did_not_go_out_is_told_with_its_reason(reader):
    Outbox.objects.create(
        kind=Outbox.Kind.NOTICE,
        dedupe_key="a",
        not_before=NOON,
        failed_at=NOON,
        last_error="No such box.",
    )

    (line,) = told(reader)["Did not go out"]

    assert "No such box." in line


def test_a_sign_whose_time_is_over_is_told_of_until_it_came_down(reader, stated, library):
    # [NJAC-7-30-9-13] the sign stays for 72 hours
    library.jurisdiction = "US-NJ"
    library.save()
    done = NOON - timedelta(hours=72)
    told_of = stated | {"started_at": done, "done_at": done, "posted_at": done}
    record = record_application(**told_of, now=done)
    heading = "Signs whose time is over"

    assert heading not in told(reader, NOON - timedelta(minutes=1))
    assert told(reader)[heading] == (f"{library.name}: put up on Jul\u00a03,\u00a02026",)

    take_down(record, by=reader, at=NOON)
    assert heading not in told(reader)


def test_a_long_part_is_cut_and_says_so():
    text = DigestPart("Heading", tuple(str(n) for n in range(MOST_LINES + 3))).text()

    assert text.endswith("and 3 more")
    assert len(text.splitlines()) == MOST_LINES + 2


def test_the_mail_speaks_the_owners_language(reader, lapsing):
    Technician.objects.update_or_create(user=reader, defaults={"language": "es"})
    telling.queue_digests(now=NOON)

    telling.deliver(Outbox.objects.get(kind=Outbox.Kind.DIGEST).pk, now=timezone.now())

    (letter,) = mail.outbox
    assert letter.to == ["owner@example.org"]
    assert "PA-0007" in letter.body
    assert "Certificados" in letter.body
