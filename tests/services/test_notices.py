"""Who must be told, in which hours, and that nobody is sent where the notice is not in time."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core import mail
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from clients.models import Neighbour
from services import telling
from services.courses import move_visit
from services.dispatching import dispatch_day, what_stands_in_the_way
from services.models import ContactAttempt, Outbox
from treatments.models import JournalEntry

YARD = ZoneInfo("America/New_York")
MONDAY = date(2026, 7, 6)
SEVEN = datetime(2026, 7, 6, 7, tzinfo=YARD)  # the first crew begins
HOUR = timedelta(hours=1)


@pytest.fixture
def listed(library):
    """A neighbour on the registry, 400 feet away."""
    return Neighbour.objects.create(
        property=library,
        name="N. Ext",
        phone="555-0101",
        email="next@example.org",
        ground=Neighbour.Ground.REGISTRY,
        distance_ft=400,
    )


@pytest.fixture
def ready(visits, listed, soap_lot, oil_lot, calibration, crew, reading_society):
    """The first visit, with nothing in its way but the notice."""
    reading_society.wants_notice = False
    reading_society.save()
    return type(visits[0]).objects.with_all_that_is_shown().get(pk=visits[0].pk)


def told(visit, at, outcome="told", way="telephone", person=None):
    reader = next(r for r in telling.people_to_tell(visit) if person in (None, r.person))
    with time_machine.travel(max(at, datetime(2026, 7, 6, 12, tzinfo=UTC)), tick=False):
        return telling.log_contact(
            visit, reader, way=way, outcome=outcome, at=at, by=None, form_id=uuid4()
        )


def found(visit, now, day=None):
    with time_machine.travel(now, tick=False):
        today = now.astimezone(YARD).date()
        return what_stands_in_the_way([visit], today, day)[visit.pk]


# [PA-128-112] told 12 to 72 hours before; the first crew begins at seven
@pytest.mark.parametrize(
    ("before", "codes"),
    [
        (72 * HOUR + timedelta(seconds=1), ["notice-too-late"]),
        (72 * HOUR, []),
        (12 * HOUR, []),
        (12 * HOUR - timedelta(seconds=1), ["notice-too-late"]),
    ],
)
def test_who_is_on_the_registry_is_told_12_to_72_hours_before(ready, before, codes):
    told(ready, SEVEN - before)

    assert [each.code for each in found(ready, SEVEN)] == codes


# [PA-128-85A] whoever asked in writing at least 7 days ahead (from memory)
@pytest.mark.parametrize(
    ("asked_on", "code"),
    [
        (date(2026, 6, 29), "notice-too-late"),
        (date(2026, 6, 30), "notice-to-give"),
        (None, "notice-too-late"),
    ],
)
def test_who_asked_less_than_seven_days_ahead_stops_no_visit(ready, listed, asked_on, code):
    listed.ground, listed.asked_on = Neighbour.Ground.ASKED, asked_on
    listed.save()
    visit = type(ready).objects.with_all_that_is_shown().get(pk=ready.pk)

    assert [each.code for each in found(visit, SEVEN)] == [code]


def test_an_attempt_that_reached_nobody_tells_nobody(ready):
    told(ready, SEVEN - 24 * HOUR, outcome="not reached")

    (finding,) = found(ready, SEVEN)

    assert (finding.code, finding.severity) == ("notice-too-late", "refusal")
    assert finding.facts["closes"] == "2026-07-05 19:00"


def test_until_the_last_hour_a_notice_to_give_is_a_warning(ready):
    last = SEVEN - 12 * HOUR

    assert [each.code for each in found(ready, last)] == ["notice-to-give"]
    assert [each.code for each in found(ready, last + HOUR / 3600)] == ["notice-too-late"]


def test_dispatch_leaves_out_whose_notice_time_has_not_run_and_says_why(ready, owner):
    with time_machine.travel(SEVEN - HOUR, tick=False):
        plan = dispatch_day(day=MONDAY, visits=[ready], by=owner, now=SEVEN - HOUR)

    assert not plan.dispatches
    assert [each.reason.code for each in plan.left_out] == ["notice-too-late"]


def test_dispatch_sends_where_the_notice_was_in_time(ready, owner):
    told(ready, SEVEN - 24 * HOUR)

    with time_machine.travel(SEVEN - HOUR, tick=False):
        plan = dispatch_day(day=MONDAY, visits=[ready], by=owner, now=SEVEN - HOUR)

    assert len(plan.dispatches) == 1


def test_a_moved_visit_needs_a_new_notice(ready, owner):
    told(ready, SEVEN - 24 * HOUR)

    assert found(ready, SEVEN, date(2026, 7, 8))[0].code == "notice-to-give"
    assert found(ready, SEVEN + 46 * HOUR, date(2026, 7, 8))[0].code == "notice-too-late"


def test_a_mail_of_the_old_day_does_not_go_out(ready):
    (row,) = telling.queue_notices(ready, now=SEVEN - 48 * HOUR)
    type(ready).objects.filter(pk=ready.pk).update(planned=date(2026, 7, 8))

    assert not telling.deliver(row.pk, now=SEVEN)

    row.refresh_from_db()
    assert "moved to another day" in row.last_error


def test_after_a_move_the_new_day_is_told_where_the_old_one_was(ready, owner):
    telling.queue_notices(ready, now=SEVEN - 48 * HOUR)

    move_visit(ready, day=date(2026, 7, 8), by=owner, version=ready.version)

    assert ":2026-07-08:" in Outbox.objects.get().dedupe_key


def test_a_move_tells_nobody_who_was_not_told_before(ready, owner):
    move_visit(ready, day=date(2026, 7, 8), by=owner, version=ready.version)

    assert not Outbox.objects.exists()


def test_the_notice_says_what_pennsylvania_asks_in_both_languages(ready, business):
    (row,) = telling.queue_notices(ready, now=SEVEN - 48 * HOUR)

    telling.deliver(row.pk, now=SEVEN - 24 * HOUR)

    # [PA-128-112] day, site, earliest start, latest finish, brand, number, ingredient, business
    text = mail.outbox[0].body
    for words in ("July 6, 2026", "2 Shelf Street", "7:00 am", "11:59 pm", "Quiet Soap", "0-101"):
        assert words in text
    assert "potassium salts" in text
    assert "6 de julio de 2026" in text


def test_in_new_york_a_new_day_waits_until_the_client_accepts_it(ready, library, reading_society):
    # [NY-ECL-33] the owner accepts another day before the work
    reading_society.wants_notice = True
    reading_society.save()
    library.neighbours.all().delete()
    library.jurisdiction = "US-NY"
    library.save()
    ready = type(ready).objects.with_all_that_is_shown().get(pk=ready.pk)
    told(ready, SEVEN - 90 * HOUR)
    type(ready).objects.filter(pk=ready.pk).update(planned=date(2026, 7, 8))
    ready = type(ready).objects.with_all_that_is_shown().get(pk=ready.pk)

    before = [each.code for each in found(ready, SEVEN)]
    told(ready, SEVEN, outcome="accepted")

    assert "day-not-accepted" in before
    assert "day-not-accepted" not in [each.code for each in found(ready, SEVEN)]


@pytest.mark.parametrize(("county", "bound"), [("Suffolk", True), ("", True), ("Essex", False)])
def test_new_yorks_neighbours_are_told_where_the_county_adopted_the_law(
    ready, library, listed, county, bound
):
    # [NY-ECL-33] abutting within 150 feet, in the counties that adopted the law; unknown binds
    library.jurisdiction, library.county = "US-NY", county
    library.save()
    Neighbour.objects.update(ground="abutting", distance_ft=150)
    visit = type(ready).objects.with_all_that_is_shown().get(pk=ready.pk)

    assert [reader.is_bound for reader in telling.people_to_tell(visit)] == [bound]


def test_an_attempt_is_kept_once_and_is_an_entry_of_the_journal(ready):
    attempt = told(ready, SEVEN - 24 * HOUR)
    before = JournalEntry.objects.count()

    again = telling.log_contact(
        ready,
        telling.people_to_tell(ready)[0],
        way="telephone",
        outcome="told",
        at=SEVEN,
        by=None,
        form_id=attempt.form_id,
    )

    assert again == attempt
    assert JournalEntry.objects.count() == before
    assert "N. Ext" in JournalEntry.objects.latest("seq").body


def test_an_attempt_stays_as_it_was_written(ready):
    attempt = told(ready, SEVEN - 24 * HOUR)

    with pytest.raises(DatabaseError), transaction.atomic():
        super(type(ContactAttempt.objects.all()), ContactAttempt.objects.all()).update(name="else")
    with pytest.raises(ValidationError):
        attempt.save()


def test_what_has_not_happened_yet_is_not_written_down(ready):
    with time_machine.travel(SEVEN, tick=False), pytest.raises(ValidationError, match="not come"):
        telling.log_contact(
            ready,
            telling.people_to_tell(ready)[0],
            way="telephone",
            outcome="told",
            at=SEVEN + HOUR,
            by=None,
            form_id=uuid4(),
        )


def test_the_record_repeats_every_attempt(ready):
    told(ready, SEVEN - 30 * HOUR, outcome="not reached")
    told(ready, SEVEN - 29 * HOUR)

    assert telling.notices.notice_log(ready).splitlines() == [
        "N. Ext, 2026-07-05 01:00, by telephone: not reached",
        "N. Ext, 2026-07-05 02:00, by telephone: told",
    ]
