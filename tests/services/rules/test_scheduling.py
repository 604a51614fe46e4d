"""The days of a course.  1 June 2026 is a Monday, by any calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.scheduling import (
    ImpossibleStep,
    Step,
    WorkingDays,
    course_days,
    next_window,
    preferred_day,
    shift_after_hold,
)

MONDAY = date(2026, 6, 1)
THREE_WEEKS = [Step(1), Step(2), Step(3, at_dusk=True)]
NEVER_CLOSED = WorkingDays(closed_weekdays=frozenset())


def june(day):
    return date(2026, 6, day)


def test_a_course_goes_on_every_seventh_day():
    days = course_days(MONDAY, THREE_WEEKS)

    assert [visit.planned for visit in days] == [june(1), june(8), june(15)]
    assert [visit.at_dusk for visit in days] == [False, False, True]


def test_week_three_may_come_five_to_nine_days_after_week_two():
    visit = next_window(june(8), THREE_WEEKS[2])

    assert (visit.week, visit.earliest, visit.latest) == (3, june(13), june(17))


def test_the_next_visit_counts_from_the_day_it_was_done_not_planned():
    assert next_window(june(10), Step(3)).planned == june(17)


def test_no_visit_is_planned_on_a_sunday():
    # Seven days after Sunday 7 June is Sunday 14 June.
    assert next_window(june(7), Step(2)).planned == june(13)


def test_no_visit_is_planned_on_a_holiday():
    working = WorkingDays(closed_dates=frozenset({june(8)}))

    assert next_window(june(1), Step(2), working).planned == june(9)


def test_the_days_on_which_the_property_lets_the_crew_in_come_first():
    wednesdays = WorkingDays(access_weekdays=frozenset({2}))

    assert next_window(june(1), Step(2), wednesdays).planned == june(10)


def test_an_access_day_outside_the_window_does_not_stretch_it():
    thursdays = WorkingDays(access_weekdays=frozenset({3}))

    # The window is Saturday 6 to Wednesday 10 June.
    assert next_window(june(1), Step(2), thursdays).planned == june(8)


def test_a_window_without_an_open_day_says_so():
    shut = WorkingDays(closed_dates=frozenset(june(day) for day in range(6, 11)))

    visit = next_window(june(1), Step(2), shut)

    assert [finding.code for finding in visit.findings] == ["all-days-closed"]
    assert "2026-06-06 to 2026-06-10" in visit.findings[0].say()


@pytest.mark.parametrize(("interval", "earliest"), [(4, 6), (5, 6), (6, 7), (9, 10)])
def test_the_labels_interval_narrows_the_window(interval, earliest):
    visit = next_window(june(1), Step(2, label_interval_days=interval))

    assert (visit.earliest, visit.latest) == (june(earliest), june(10))
    assert visit.findings == ()


def test_the_label_outweighs_the_latest_day():
    visit = next_window(june(1), Step(2, label_interval_days=14))

    assert visit.earliest == visit.planned == visit.latest == june(15)
    assert visit.findings[0].code == "label-interval-beyond-window"


def test_where_the_first_lawful_day_is_a_sunday_the_next_open_day_is_planned():
    visit = next_window(june(1), Step(2, label_interval_days=13))

    assert (visit.earliest, visit.planned, visit.latest) == (june(14), june(15), june(15))


def test_a_week_the_course_does_not_have_cannot_be_held():
    with pytest.raises(ValueError, match="not in list"):
        shift_after_hold(course_days(MONDAY, THREE_WEEKS), THREE_WEEKS, 4, june(9))


def test_the_labels_interval_counts_from_the_products_own_last_use():
    step = Step(3, label_interval_days=14)

    assert next_window(june(8), step, last_of_product=june(1)).earliest == june(15)


def test_products_that_alternate_keep_the_labels_interval_within_a_course():
    steps = [
        Step(1, "soap", label_interval_days=14),
        Step(2, "oil", label_interval_days=14),
        Step(3, "soap", label_interval_days=14),
    ]

    days = course_days(MONDAY, steps)

    assert [visit.planned for visit in days] == [june(1), june(8), june(15)]
    assert days[2].earliest == june(15)


def test_a_hold_moves_the_held_week_and_those_after_it():
    days = course_days(MONDAY, THREE_WEEKS)

    moved = shift_after_hold(days, THREE_WEEKS, 2, june(9))

    assert [visit.planned for visit in moved] == [june(1), june(9), june(16)]
    assert moved[1].latest == june(10)


def test_a_hold_on_the_latest_day_is_not_late_and_one_past_it_is():
    days = course_days(MONDAY, THREE_WEEKS)

    on_time = shift_after_hold(days, THREE_WEEKS, 2, june(10))
    late = shift_after_hold(days, THREE_WEEKS, 2, june(11))

    assert on_time[1].findings == ()
    assert late[1].findings[0].say() == (
        "Week 2 is now planned for 2026-06-11; its latest day was 2026-06-10."
    )


def test_a_hold_that_ends_before_the_planned_day_changes_nothing():
    days = course_days(MONDAY, THREE_WEEKS)

    assert shift_after_hold(days, THREE_WEEKS, 2, june(5)) == days


def test_a_late_visit_skips_sunday():
    days = course_days(MONDAY, THREE_WEEKS)

    assert shift_after_hold(days, THREE_WEEKS, 2, june(14))[1].planned == june(15)


def test_of_two_days_equally_near_the_earlier_is_taken():
    assert preferred_day(june(12), june(14), june(16), WorkingDays()) == june(13)


def test_a_course_without_weeks_has_no_days():
    assert course_days(MONDAY, []) == ()


@pytest.mark.parametrize("wrong", [(0, 7, 9), (8, 7, 9), (5, 10, 9)])
def test_days_that_contradict_each_other_are_refused(wrong):
    minimum, planned, maximum = wrong

    with pytest.raises(ImpossibleStep):
        Step(1, minimum_days=minimum, planned_days=planned, maximum_days=maximum)


def test_a_visit_may_come_on_the_next_day():
    visit = next_window(MONDAY, Step(2, minimum_days=1, planned_days=1, maximum_days=1))

    assert visit.planned == june(2)


def test_a_step_may_leave_no_choice_of_days():
    visit = next_window(MONDAY, Step(2, minimum_days=7, planned_days=7, maximum_days=7))

    assert visit.earliest == visit.planned == visit.latest == june(8)


def test_the_first_visit_has_as_many_days_as_one_that_follows():
    # our own choice: five to nine days after a visit are five days to choose from
    first, second, _ = course_days(MONDAY, THREE_WEEKS)

    assert (first.earliest, first.latest) == (june(1), june(5))
    assert second.latest - second.earliest == first.latest - first.earliest


@given(
    st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    st.lists(st.tuples(st.sampled_from("ab"), st.integers(1, 20)), min_size=1, max_size=8),
)
def test_a_course_never_breaks_a_labels_interval(start, recipe):
    steps = [
        Step(week, product, label_interval_days=interval)
        for week, (product, interval) in enumerate(recipe, start=1)
    ]

    days = course_days(start, steps, NEVER_CLOSED)

    last = {}
    for step, visit in zip(steps, days, strict=True):
        assert visit.earliest <= visit.planned <= visit.latest
        if step.product in last:
            gap = visit.planned - last[step.product]
            assert gap >= timedelta(days=step.label_interval_days)
        last[step.product] = visit.planned
