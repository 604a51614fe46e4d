"""A week handed out as a whole: promises, two weeks of one course, and what has no day in it."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from services.dispatching import dispatch_week
from services.dispatching.horizons import Horizon, problem_of
from services.models import Dispatch, LoadLine, Outbox, Visit
from services.telling import people_to_tell
from treatments.chosen import forget
from treatments.models import Lot
from treatments.storekeeping import move_stock, receive_lot

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard


@pytest.fixture
def hand_out(owner):
    """Dispatch visits of a week and return why any was left out, by the place."""

    def dispatch(visits, monday=MONDAY, now=DAWN):
        ids = [visit.pk for visit in visits]
        plans = dispatch_week(monday=monday, visit_ids=ids, by=owner, now=now)
        return {
            left.visit.course.property.name: left.reason for plan in plans for left in plan.left_out
        }

    return dispatch


@pytest.fixture
def told(reading_society):
    """Let the client have been told of a visit on its planned day."""
    reading_society.wants_notice = True
    reading_society.save()

    def tell(visit):
        for reader in people_to_tell(Visit.objects.get(pk=visit.pk)):
            Outbox.objects.create(
                kind=Outbox.Kind.NOTICE, dedupe_key=reader.key, not_before=DAWN, done_at=DAWN
            )

    return tell


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def test_two_days_do_not_both_use_what_is_aboard(
    visits, town_hall, crew, soap, soap_lot, told, hand_out, owner
):
    newer = receive_lot(
        product=soap, lot_number="S-9", amount=Decimal(64), received_on=MONDAY, by=owner
    )
    move_stock(
        newer, amount=Decimal(8), by=owner, origin=None, destination=crew.truck.locker, at=DAWN
    )
    later = Visit.objects.get(course__property=town_hall, rotation_week__week=1)
    Visit.objects.filter(pk=later.pk).update(planned=date(2026, 7, 8))
    for visit in first_visits():
        told(visit)

    hand_out(first_visits())

    loads = LoadLine.objects.filter(lot=newer).values_list("dispatch__day", "amount")
    assert dict(loads) == {MONDAY: Decimal("7.5"), date(2026, 7, 8): Decimal("0.5")}


def days():
    return list(first_visits().values_list("dispatch__day", flat=True))


def test_a_visit_of_which_somebody_was_told_keeps_its_day(
    visits, town_hall, crew, stock, told, hand_out
):
    later = Visit.objects.get(course__property=town_hall, rotation_week__week=1)
    Visit.objects.filter(pk=later.pk).update(planned=date(2026, 7, 8))
    told(later)

    hand_out(first_visits())

    assert Visit.objects.get(pk=later.pk).dispatch.day == date(2026, 7, 8)


def test_a_notice_that_has_not_gone_out_promises_no_day(
    visits, town_hall, crew, stock, told, hand_out
):
    later = Visit.objects.get(course__property=town_hall, rotation_week__week=1)
    Visit.objects.filter(pk=later.pk).update(planned=date(2026, 7, 7))
    told(later)
    Outbox.objects.update(done_at=None)

    hand_out(first_visits())

    assert days() == [MONDAY, MONDAY]


def test_a_visit_that_has_a_crew_keeps_its_day_when_others_join(
    visits, town_hall, crew, stock, hand_out
):
    hand_out(first_visits()[:1])

    hand_out(first_visits()[1:])

    assert days() == [MONDAY, MONDAY]


def test_the_second_week_of_a_course_is_counted_from_the_day_of_the_first(
    visits, crew, stock, oil_lot, hand_out
):
    Visit.objects.filter(pk=visits[1].pk).update(earliest=date(2026, 7, 11))
    hand_out(visits[:2])

    first, second, _third = Visit.objects.order_by("rotation_week__week")
    assert first.dispatch.day == MONDAY
    assert second.earliest == MONDAY + timedelta(days=second.rotation_week.minimum_days)
    assert second.dispatch.day == date(2026, 7, 11)


def test_a_visit_without_a_day_in_the_week_says_so(visits, crew, stock, hand_out):
    reasons = hand_out(visits[2:])

    assert reasons["Library"].code == "no-day-in-week"
    assert "2026-07-12" in reasons["Library"].say()


def test_a_week_in_which_nobody_works_says_why(visits, crew, stock, hand_out):
    crew.shift_starts, crew.shift_ends = time(22), time(23)
    crew.save()

    assert hand_out(visits[:1])["Library"].code == "window-outside-shifts"


def test_the_cheapest_place_and_who_would_give_way_are_named(
    visits, town_hall, crew, stock, hand_out
):
    Visit.objects.filter(rotation_week__week=1).update(latest=MONDAY)
    crew.shift_starts, crew.shift_ends, crew.lunch_minutes = time(8), time(9, 30), 0
    crew.save()

    (reason,) = hand_out(first_visits()).values()

    assert reason.code == "no-room-unless"
    assert "Crew one (2026-07-06)" in reason.say()


def test_a_lot_that_expires_before_the_day_is_not_taken(
    visits, crew, soap_lot, calibration, hand_out
):
    Lot.objects.update(expires_on=date(2026, 7, 7))
    Visit.objects.filter(pk=visits[0].pk).update(planned=date(2026, 7, 9))
    crew.weekdays = ["3", "4"]
    crew.save()

    reasons = hand_out(visits[:1])

    assert reasons["Library"].code == "stock-short-but-expired"
    assert not Dispatch.objects.exists()


def test_the_days_of_a_week_share_the_store(visits, town_hall, crew, stock, owner, hand_out):
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)
    hall = first_visits().filter(course__property=town_hall)
    hall.update(earliest=date(2026, 7, 10), planned=date(2026, 7, 10))

    reasons = hand_out(first_visits())  # 8 fl oz are left, each visit takes 7.5

    assert [reason.code for reason in reasons.values()] == ["stock-short"]
    assert sum(line.amount for line in LoadLine.objects.all()) == Decimal("7.5")


def test_two_visits_are_read_in_no_more_queries_than_one(visits, town_hall, crew, stock):
    today = Horizon(MONDAY, MONDAY + timedelta(days=6), frozenset({visits[0].pk}))
    both = replace(today, chosen=frozenset(first_visits().values_list("pk", flat=True)))

    with CaptureQueriesContext(connection) as for_one:
        problem_of(today, DAWN)
    forget()  # which rules were chosen is remembered
    with CaptureQueriesContext(connection) as for_two:
        problem_of(both, DAWN)

    assert len(for_two) == len(for_one)
