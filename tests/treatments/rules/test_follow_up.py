"""How a course stands after its counts: what is said, and what is proposed.

The rules are common practice or this project's choice, as the module says; the times of counting
are those of the scouting texts in SOURCES.md, "count just before every visit".
"""

from datetime import date, timedelta

import pytest

from treatments.rules.follow_up import (
    Counted,
    CourseSoFar,
    PoorVisit,
    Standing,
    WeekToCome,
    follow_up,
)

FIRST = date(2026, 7, 6)


def day(number):
    return FIRST + timedelta(days=number)


def counted(*pairs):
    return [Counted(day(number), level) for number, level in pairs]


def codes(findings):
    return [finding.code for finding in findings]


TO_COME = [WeekToCome(3, frozenset({"10"})), WeekToCome(4, frozenset({"20"}))]


@pytest.mark.parametrize(
    "so_far",
    [
        pytest.param(CourseSoFar(counted((-1, 8)), []), id="no visit yet"),
        pytest.param(CourseSoFar(counted((-1, 8)), [day(0)]), id="no count after it"),
        pytest.param(CourseSoFar([], [day(0)]), id="no count at all"),
        pytest.param(CourseSoFar(counted((0, 8)), [day(0)]), id="counted on the day itself"),
    ],
)
def test_without_a_count_after_a_visit_nobody_can_tell(so_far):
    standing, told = follow_up(so_far)

    assert standing is Standing.UNKNOWN
    assert codes(told) == ["count-first"]


def test_a_count_on_the_day_of_the_first_visit_is_one_before_it():
    # counted just before the visit, as the scouting texts ask
    so_far = CourseSoFar(counted((0, 8), (6, 5), (13, 3)), [day(0), day(7)], threshold=2)

    _, (told,) = follow_up(so_far)

    assert told.facts["before"] == "8.0"


def test_a_falling_count_works():
    so_far = CourseSoFar(counted((-1, 8), (6, 5), (13, 3)), [day(0), day(7)], threshold=2)

    standing, (told,) = follow_up(so_far)

    assert standing is Standing.WORKING
    assert told.facts["before"] == "8.0"
    assert told.facts["after"] == "3.0"


@pytest.mark.parametrize(
    ("visits", "last", "standing"),
    [
        pytest.param([0, 7], 8, Standing.NOT_WORKING, id="two visits and no less"),
        pytest.param([0, 7], 9, Standing.NOT_WORKING, id="two visits and more"),
        pytest.param([0], 9, Standing.WORKING, id="one visit is too early"),
        pytest.param([0, 7], 7.9, Standing.WORKING, id="a little less"),
        pytest.param([0, 14], 9, Standing.WORKING, id="the second on the day of the count"),
    ],
)
def test_two_visits_ought_to_lower_the_count(visits, last, standing):
    so_far = CourseSoFar(counted((-1, 8), (14, last)), [day(each) for each in visits], threshold=2)

    assert follow_up(so_far)[0] is standing


def test_more_than_before_but_under_the_threshold_is_no_trouble():
    so_far = CourseSoFar(counted((-1, 0.5), (14, 0.8)), [day(0), day(7)], threshold=2)

    assert follow_up(so_far)[0] is Standing.WORKING


def test_a_poor_visit_asks_for_another_mode_of_action_in_the_weeks_that_would_repeat_it():
    poor = [PoorVisit(day(0), "10A", frozenset({"10"}))]
    so_far = CourseSoFar(
        counted((-1, 8), (6, 7)), [day(0)], TO_COME, threshold=2, poor=poor, told=day(0)
    )

    standing, told = follow_up(so_far)

    assert standing is Standing.NOT_WORKING
    assert codes(told) == ["not-working", "same-group-to-come"]
    assert "(group 10A)" in told[0].say()
    assert told[1].facts == {"weeks": "3", "group": "10A"}


def test_a_poor_visit_is_forgotten_once_a_later_one_worked():
    poor = [PoorVisit(day(0), "10A", frozenset({"10"}))]
    so_far = CourseSoFar(
        counted((-1, 8), (6, 7), (13, 3)), [day(0), day(7)], poor=poor, told=day(7), threshold=2
    )

    assert follow_up(so_far)[0] is Standing.WORKING


@pytest.mark.parametrize(
    ("last", "standing"),
    [
        pytest.param(2, Standing.NOT_WORKING, id="at the threshold of two"),
        pytest.param(1.9, Standing.WORKING, id="under it"),
    ],
)
def test_a_poor_visit_is_trouble_from_the_threshold_on(last, standing):
    poor = [PoorVisit(day(0), "10A", frozenset({"10"}))]
    so_far = CourseSoFar(counted((-1, 8), (6, last)), [day(0)], poor=poor, told=day(0), threshold=2)

    assert follow_up(so_far)[0] is standing


@pytest.mark.parametrize(
    ("last", "standing"),
    [(0, Standing.WORKING), (0.1, Standing.NOT_WORKING), (1, Standing.NOT_WORKING)],
)
def test_without_a_threshold_a_poor_visit_is_trouble_while_there_are_any(last, standing):
    poor = [PoorVisit(day(0), "10A", frozenset({"10"}))]
    so_far = CourseSoFar(counted((-1, 8), (6, last)), [day(0)], poor=poor, told=day(0))

    assert follow_up(so_far)[0] is standing


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        pytest.param([(-1, 8), (6, 7.9)], ["falling"], id="a little less"),
        pytest.param([(-1, 8), (6, 8)], [], id="no less"),
        pytest.param([(6, 8)], [], id="no count before the first visit"),
    ],
)
def test_a_count_is_told_as_falling_only_where_it_fell(counts, expected):
    standing, told = follow_up(CourseSoFar(counted(*counts), [day(0)], threshold=2))

    assert standing is Standing.WORKING
    assert codes(told) == expected


def test_a_poor_visit_on_few_pests_is_no_trouble():
    poor = [PoorVisit(day(7), "UNM", frozenset())]
    so_far = CourseSoFar(
        counted((-1, 8), (6, 3), (13, 1.5)), [day(0), day(7)], poor=poor, told=day(7), threshold=2
    )

    assert follow_up(so_far)[0] is Standing.WORKING


def test_soap_that_did_little_bars_no_group():
    poor = [PoorVisit(day(0), "", frozenset())]
    so_far = CourseSoFar(counted((-1, 8), (6, 7)), [day(0)], TO_COME, poor=poor, told=day(0))

    assert codes(follow_up(so_far)[1]) == ["not-working"]


@pytest.mark.parametrize(
    ("counts", "threshold", "standing"),
    [
        pytest.param([(8, 1), (13, 1)], 2, Standing.FINISHED, id="five days apart"),
        pytest.param([(9, 1), (13, 1)], 2, Standing.WORKING, id="four days apart"),
        pytest.param([(8, 2), (13, 1)], 2, Standing.WORKING, id="the first at the threshold"),
        pytest.param([(8, 1), (13, 2)], 2, Standing.WORKING, id="the last at the threshold"),
        pytest.param([(13, 1)], 2, Standing.WORKING, id="one count alone"),
        pytest.param([(8, 0), (13, 0)], None, Standing.FINISHED, id="none, without a threshold"),
        pytest.param([(8, 0), (13, 0.1)], None, Standing.WORKING, id="some, without a threshold"),
    ],
)
def test_two_low_counts_in_a_row_finish_a_course(counts, threshold, standing):
    so_far = CourseSoFar(
        counted((-1, 8), *counts), [day(0), day(7)], threshold=threshold, highest_without=1.5
    )

    assert follow_up(so_far)[0] is standing


@pytest.mark.parametrize(
    ("highest", "expected"),
    [
        pytest.param(1.9, ["low-twice", "stays-low", "stop-early"], id="stays low"),
        pytest.param(None, ["low-twice", "no-forecast", "stop-early"], id="nobody can tell"),
        pytest.param(2.0, ["low-twice", "comes-back"], id="comes back"),
    ],
)
def test_the_forecast_has_a_say_in_stopping_early(highest, expected):
    so_far = CourseSoFar(
        counted((-1, 8), (6, 1), (13, 1)),
        [day(0), day(7)],
        TO_COME,
        threshold=2,
        highest_without=highest,
    )

    standing, told = follow_up(so_far)

    assert codes(told) == expected
    assert (standing is Standing.FINISHED) == ("stop-early" in expected)


def test_a_course_that_will_not_be_enough_is_told_of():
    so_far = CourseSoFar(counted((-1, 8), (6, 5)), [day(0)], TO_COME, threshold=2, end_with=2.0)

    standing, told = follow_up(so_far)

    assert standing is Standing.WORKING
    assert codes(told) == ["falling", "not-enough"]


def test_nothing_is_proposed_to_stop_where_nothing_is_to_come():
    so_far = CourseSoFar(counted((-1, 8), (6, 1), (13, 1)), [day(0), day(7)], threshold=2)

    standing, told = follow_up(so_far)

    assert standing is Standing.FINISHED
    assert "stop-early" not in codes(told)
