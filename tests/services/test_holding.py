"""Holds: one open at a time, kept after they are lifted, and what moves with them."""

from datetime import UTC, date, datetime, timedelta
from threading import Thread

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from services.holding import days_after_hold, hold_until, hold_visit, lift_hold
from services.models import Hold, Visit

MORNING = datetime(2026, 7, 6, 14, tzinfo=UTC)


@pytest.fixture
def held(visits, technician):
    """The second visit, held for wind."""
    return hold_visit(visits[1], reason="wind", by=technician, at=MORNING)


def days_of(course):
    return [visit.planned.day for visit in course.visits.order_by("rotation_week__week")]


def test_a_visit_held_twice_has_one_hold(held, visits, owner):
    again = hold_visit(visits[1], reason="rain", by=owner, at=MORNING + timedelta(hours=1))

    assert again == held
    assert Hold.objects.get().reason == "wind"


def test_a_hold_for_another_reason_says_which(visits, owner):
    with pytest.raises(ValidationError, match="Say which other reason"):
        hold_visit(visits[1], reason="other", by=owner, at=MORNING)


def test_a_visit_that_was_made_is_not_held(done_visit, owner):
    with pytest.raises(ValidationError) as refused:
        hold_visit(done_visit, reason="wind", by=owner, at=MORNING)

    assert refused.value.code == "not_open"


def test_a_held_visit_leaves_the_route(dispatched, owner):
    hold_visit(dispatched, reason="rain", by=owner, at=MORNING)

    dispatched.refresh_from_db()
    assert (dispatched.dispatch, dispatched.arrives_at) == (None, None)


def test_a_visit_that_is_under_way_stays_on_the_route(dispatched, owner):
    Visit.objects.filter(pk=dispatched.pk).update(state="IN-PROCESS")

    hold_visit(dispatched, reason="rain", by=owner, at=MORNING)

    dispatched.refresh_from_db()
    assert dispatched.dispatch


def test_a_lifted_hold_is_kept(held, owner):
    lifted = lift_hold(held, by=owner, at=MORNING + timedelta(days=1))

    assert lifted.hold.lifted_by == owner
    assert Hold.objects.count() == 1


def test_a_hold_lifted_twice_is_lifted_once(held, owner, dispatcher):
    lift_hold(held, by=owner, at=MORNING + timedelta(days=1))
    again = lift_hold(held, by=dispatcher, at=MORNING + timedelta(days=30))

    assert (again.hold.lifted_by, again.moved) == (owner, ())


def test_a_hold_lifted_before_the_planned_day_moves_nothing(held, owner):
    lifted = lift_hold(held, by=owner, at=datetime(2026, 7, 13, 14, tzinfo=UTC))

    assert lifted.moved == ()


def test_up_to_the_latest_day_only_the_visit_itself_moves(held, owner, course):
    lifted = lift_hold(held, by=owner, at=datetime(2026, 7, 15, 14, tzinfo=UTC))

    assert [(each.was.day, each.now.day) for each in lifted.moved] == [(13, 15)]
    assert days_of(course) == [6, 15, 20]


def test_past_the_latest_day_the_later_weeks_follow_and_it_is_said(held, owner, course):
    lifted = lift_hold(held, by=owner, at=datetime(2026, 7, 16, 14, tzinfo=UTC))

    assert days_of(course) == [6, 16, 23]
    assert [each.visit.week for each in lifted.moved] == [2, 3]
    assert lifted.moved[0].findings[0].code == "past-latest-day"


def test_weeks_before_the_held_one_stay(held, owner, course):
    lift_hold(held, by=owner, at=datetime(2026, 7, 30, 14, tzinfo=UTC))

    first = course.visits.get(rotation_week__week=1)
    assert first.planned == date(2026, 7, 6)


def test_it_is_the_date_of_the_property_that_counts(held, owner):
    # 02:00 UTC on the 16th is the evening of the 15th in New York
    lifted = lift_hold(held, by=owner, at=datetime(2026, 7, 16, 2, tzinfo=UTC))

    assert lifted.moved[0].now == date(2026, 7, 15)


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_of_two_who_hold_a_visit_at_once_one_hold_comes(visits, owner):
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")

    threads = [Thread(target=hold_and_close, args=(visits[1], owner)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert Hold.objects.count() == 1


def hold_and_close(visit, owner):
    hold_visit(visit, reason="wind", by=owner, at=MORNING)
    connection.close()


def until(visit, owner, day, **changed):
    told = {"reason": "wind", "by": owner, "at": MORNING} | changed
    return hold_until(visit, not_before=date(2026, 7, day), **told)


def test_a_hold_until_a_day_moves_the_later_weeks(visits, course, crew, owner):
    held = until(visits[0], owner, 9)

    # weeks two and three follow a week after the one before: 9, 16, 23 July
    assert days_of(course) == [9, 16, 23]
    assert [moved.visit.week for moved in held.moved] == [1, 2, 3]
    assert held.hold.lifted_at is None


def test_what_a_hold_would_do_is_what_it_does(visits, course, crew, owner):
    foreseen = [now.planned.day for _was, now in days_after_hold(visits[0], date(2026, 7, 9))]
    before = days_of(course)
    until(visits[0], owner, 9)

    assert before == [6, 13, 20]
    assert days_of(course) == foreseen


def test_a_hold_until_a_day_past_the_latest_says_that_it_is_late(visits, crew, owner):
    _was, now = days_after_hold(visits[0], date(2026, 7, 14))[0]

    assert [finding.code for finding in now.findings] == ["past-latest-day"]


def test_a_hold_until_a_day_twice_moves_once(visits, course, crew, owner):
    until(visits[0], owner, 9)
    again = until(Visit.objects.get(pk=visits[0].pk), owner, 9)

    assert again.moved == ()
    assert days_of(course) == [9, 16, 23]


def test_a_hold_until_the_planned_day_moves_nothing(visits, course, crew, owner):
    assert until(visits[0], owner, 6).moved == ()
    assert days_of(course) == [6, 13, 20]


def test_a_visit_that_was_made_does_not_move(done_visit, visits, course, owner):
    assert [was.week for was, _now in days_after_hold(visits[1], date(2026, 7, 15))] == [2, 3]
    with pytest.raises(ValidationError):
        until(done_visit, owner, 9)
