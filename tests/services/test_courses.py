"""Courses: put on once, moved within their days and the label's interval, ended."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from clients.models import Client, Planting, Property
from services.courses import (
    Mark,
    NoHours,
    course_weeks,
    end_course,
    move_visit,
    put_on,
    shift_after,
    spray_window,
    spray_windows,
)
from services.models import Course, Visit

MONDAY = date(2026, 7, 6)
EVENING = datetime(2026, 7, 6, 22, 40, tzinfo=UTC)


@pytest.fixture
def put(rotation, rose_bed, soap_lot, oil_lot, applicator, owner):
    """What `put_on` is told."""
    return {
        "rotation": rotation,
        "plantings": [rose_bed],
        "first_day": MONDAY,
        "by": owner,
        "today": MONDAY,
    }


@pytest.fixture
def town_hall(library):
    """A second property, with a rose bed of its own."""
    client = Client.objects.create(name="Town")
    hall = Property.objects.get(pk=library.pk)
    hall.pk, hall.name, hall.client = None, "Town hall", client
    hall.save(force_insert=True)
    bed = library.plantings.get()
    bed.pk, bed.property = None, hall
    bed.save(force_insert=True)
    return bed


def days_of(course):
    return [
        (visit.earliest.day, visit.planned.day, visit.latest.day)
        for visit in course.visits.order_by("rotation_week__week")
    ]


def test_a_course_has_a_visit_for_every_week(put):
    course = put_on(**put)[0]

    # [6, 6, 10], then 5, 7 and 9 days after the visit before
    assert days_of(course) == [(6, 6, 10), (11, 13, 15), (18, 20, 22)]


def test_a_course_put_on_twice_is_one(put):
    first = put_on(**put)
    second = put_on(**put)

    assert first == second
    assert Visit.objects.count() == 3


def test_a_course_tells_when_it_was_put_on(put):
    put_on_at = datetime(2026, 7, 5, 14, 30, tzinfo=UTC)

    course = put_on(**put, at=put_on_at)[0]

    assert course.started_at == put_on_at


def test_plantings_of_two_properties_are_two_courses(put, rose_bed, town_hall):
    courses = put_on(**put | {"plantings": [rose_bed, town_hall]})

    assert [course.property for course in courses] == [rose_bed.property, town_hall.property]
    assert Visit.objects.count() == 6


def test_a_planting_joins_a_course_that_has_not_begun(put, rose_bed):
    second = Planting.objects.get(pk=rose_bed.pk)
    second.pk, second.name = None, "Rose arch"
    second.save(force_insert=True)
    put_on(**put)

    course = put_on(**put | {"plantings": [rose_bed, second]})[0]

    assert set(course.plantings.all()) == {rose_bed, second}
    assert Course.objects.count() == 1


def test_a_planting_does_not_join_a_course_that_is_under_way(put, rose_bed):
    second = Planting.objects.get(pk=rose_bed.pk)
    second.pk, second.name = None, "Rose arch"
    second.save(force_insert=True)
    put_on(**put)
    Visit.objects.filter(rotation_week__week=1).update(state="IN-PROCESS")

    with pytest.raises(ValidationError) as refused:
        put_on(**put | {"plantings": [second]})

    assert refused.value.code == "under_way"


def test_what_a_rule_refuses_is_told_for_each_planting_and_nothing_is_kept(put, rose_bed):
    rose_bed.plant_group = "lawn"
    rose_bed.save()

    with pytest.raises(ValidationError) as refused:
        put_on(**put)

    assert refused.value.code == "refused"
    assert refused.value.params["findings"][rose_bed.pk]
    assert not Course.objects.exists()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"today": MONDAY + timedelta(days=1)}, "past"),
        ({"plantings": []}, "no_plantings"),
    ],
)
def test_a_course_that_cannot_begin_is_refused(put, change, code):
    with pytest.raises(ValidationError) as refused:
        put_on(**put | change)

    assert refused.value.code == code


def test_a_retired_rotation_is_not_put_on(put, rotation):
    rotation.retired = True
    rotation.save()

    with pytest.raises(ValidationError, match="no longer offered"):
        put_on(**put)


def test_the_day_on_which_the_client_lets_in_is_preferred(put, library):
    library.access_windows.create(weekday=1, opens=time(8), closes=time(18))

    course = put_on(**put)[0]

    assert [visit.planned.weekday() for visit in course.visits.all()] == [1, 1, 1]


def test_the_days_on_which_no_crew_works_are_left_out(put, crew):
    crew.weekdays = ["2", "3"]
    crew.save()

    course = put_on(**put)[0]

    assert [visit.planned.weekday() for visit in course.visits.all()] == [2, 2, 2]


def test_the_interval_of_a_label_narrows_the_days(put, rotation, soap):
    soap.minimum_interval_days = 13
    soap.save()

    course = put_on(**put)[0]

    # soap on the 6th, so not again before the 19th
    assert days_of(course)[2] == (19, 20, 22)


def test_a_moved_visit_takes_the_later_weeks_along(visits, owner):
    moved = move_visit(visits[1], day=date(2026, 7, 14), by=owner, version=1)

    assert [(each.visit.week, each.was.day, each.now.day) for each in moved] == [
        (2, 13, 14),
        (3, 20, 21),
    ]
    assert days_of(visits[0].course)[2] == (19, 21, 23)


def test_a_visit_moved_twice_moves_once(visits, owner):
    move_visit(visits[1], day=date(2026, 7, 14), by=owner, version=1)

    assert move_visit(visits[1], day=date(2026, 7, 14), by=owner, version=2) == []


def test_a_visit_that_changed_meanwhile_is_not_moved(visits, owner):
    move_visit(visits[1], day=date(2026, 7, 14), by=owner, version=1)

    with pytest.raises(ValidationError) as refused:
        move_visit(visits[1], day=date(2026, 7, 15), by=owner, version=1)

    assert refused.value.code == "stale"


@pytest.mark.parametrize("day", [11, 15])
def test_a_visit_moves_as_far_as_its_first_and_last_day(visits, owner, day):
    move_visit(visits[1], day=date(2026, 7, day), by=owner, version=1)

    visits[1].refresh_from_db()
    assert visits[1].planned.day == day


@pytest.mark.parametrize("day", [10, 16])
def test_a_visit_does_not_move_outside_its_days(visits, owner, day):
    with pytest.raises(ValidationError) as refused:
        move_visit(visits[1], day=date(2026, 7, day), by=owner, version=1)

    assert refused.value.code == "outside_days"


def test_a_visit_moves_to_the_day_the_label_allows_and_not_before(visits, owner, soap):
    soap.minimum_interval_days = 13  # from the 6th: the 19th
    soap.save()

    with pytest.raises(ValidationError) as refused:
        move_visit(visits[2], day=date(2026, 7, 18), by=owner, version=1)

    assert refused.value.code == "label_interval"
    assert move_visit(visits[2], day=date(2026, 7, 19), by=owner, version=1)


def test_a_visit_that_was_made_does_not_move(done_visit, owner):
    with pytest.raises(ValidationError) as refused:
        move_visit(done_visit, day=date(2026, 7, 7), by=owner, version=1)

    assert refused.value.code == "not_open"


def test_the_later_weeks_are_counted_from_the_day_a_visit_was_made(visits):
    Visit.objects.filter(pk=visits[0].pk).update(
        state="COMPLETED", completed_at=EVENING + timedelta(days=2)
    )

    shift_after(visits[0])
    again = shift_after(visits[0])

    assert days_of(visits[0].course)[1:] == [(13, 15, 17), (20, 22, 24)]
    assert again == []


def test_it_is_the_day_of_the_property_that_counts(visits):
    # 03:30 UTC on the 8th is 23:30 on the 7th in New York
    at = datetime(2026, 7, 8, 3, 30, tzinfo=UTC)
    Visit.objects.filter(pk=visits[0].pk).update(state="COMPLETED", completed_at=at)

    shift_after(visits[0])

    assert days_of(visits[0].course)[1] == (12, 14, 16)


def test_an_ended_course_cancels_what_was_to_come(course, done_visit, owner):
    first = end_course(course, outcome="failed", by=owner, at=EVENING, note="Not mites")
    second = end_course(course, outcome="worked", by=owner, at=EVENING)

    assert (first, second, course.outcome) == (True, False, "failed")
    assert [visit.state for visit in course.visits.order_by("rotation_week__week")] == [
        "COMPLETED",
        "CANCELLED",
        "CANCELLED",
    ]


def test_the_weeks_of_a_course_are_marked(course, done_visit, django_assert_num_queries):
    with django_assert_num_queries(4):
        weeks = course_weeks(course, today=date(2026, 7, 16))

    assert [week.mark for week in weeks] == [Mark.DONE, Mark.PLANNED, Mark.PLANNED]
    assert [week.is_late for week in weeks] == [False, True, False]


def test_a_property_without_windows_is_open_from_dawn_to_dusk(visits):
    opens, closes = spray_window(visits[0], MONDAY)

    # the sun rises about 05:37 and sets about 20:31 in Trenton, NJ, nearby: from memory
    assert (opens.hour, closes.hour) == (5, 21)


def test_access_bounds_the_hours(visits, library):
    library.access_windows.create(weekday=0, opens=time(8), closes=time(10))
    library.access_windows.create(weekday=0, opens=time(14), closes=time(16))

    windows = spray_windows(fresh_copy(visits[0]), MONDAY)

    assert [(opens.hour, closes.hour) for opens, closes in windows] == [(8, 10), (14, 16)]


def test_a_visit_at_dusk_waits_for_dusk(visits):
    visits[0].rotation_week.at_dusk = True

    opens, closes = spray_window(visits[0], MONDAY)

    assert (opens.hour, closes.hour) == (19, 21)


def test_where_dusk_is_closed_the_early_morning_serves(visits, library):
    library.access_windows.create(weekday=0, opens=time(5), closes=time(12))
    visit = fresh_copy(visits[0])
    visit.rotation_week.at_dusk = True

    opens, closes = spray_window(visit, MONDAY)

    assert (opens.hour, closes.hour) == (5, 6)


def test_bees_that_forage_make_a_visit_wait_for_dusk(visits, rose_bed, soap):
    rose_bed.attracts_bees = True
    rose_bed.save()
    soap.bloom_rule = "not while bees forage"
    soap.save()

    in_bloom = spray_window(fresh_copy(visits[0]), date(2026, 6, 15))
    after = spray_window(fresh_copy(visits[0]), date(2026, 6, 16))

    assert (in_bloom[0].hour, after[0].hour) == (19, 4)


@pytest.mark.parametrize(
    ("weekday", "opens", "at_dusk", "code"),
    [
        (1, time(8), False, "no-access-that-day"),
        (0, time(12), True, "no-access-at-dusk"),
        (0, time(1), False, "access-only-in-the-dark"),
    ],
)
def test_where_there_are_no_hours_the_reason_is_named(
    visits, library, weekday, opens, at_dusk, code
):
    closes = time(opens.hour + 2)
    library.access_windows.create(weekday=weekday, opens=opens, closes=closes)
    visit = fresh_copy(visits[0])
    visit.rotation_week.at_dusk = at_dusk

    with pytest.raises(NoHours) as none:
        spray_window(visit, MONDAY)

    assert none.value.finding.code == code


def test_where_the_sun_does_not_set_there_is_no_dusk(visits, library):
    library.latitude, library.longitude = Decimal("69.65"), Decimal("18.96")
    library.time_zone = "Europe/Oslo"
    library.save()
    visit = fresh_copy(visits[0])
    visit.rotation_week.at_dusk = True

    with pytest.raises(NoHours) as none:
        spray_window(visit, date(2026, 6, 21))

    assert none.value.finding.code == "no-sunset"


def fresh_copy(visit):
    return Visit.objects.with_all_that_is_shown().get(pk=visit.pk)
