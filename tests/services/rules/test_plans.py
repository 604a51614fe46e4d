"""What a stop, a shift and their hours come to, by hand."""

from decimal import Decimal

import pytest

from services.rules.plans import CrewShift, ImpossiblePlan, Stop, bare, ending_by
from services.rules.travel import Point

HOUR = 3600
DAY = 24 * HOUR


@pytest.mark.parametrize("day", [0, 1, 3])
def test_lunch_has_its_hours_on_each_day_of_a_week(day):
    # common practice: from 11:30 to 13:30
    midnight = day * DAY
    shift = CrewShift("Crew A", Point(0, 0), midnight + 7 * HOUR, midnight + 15 * HOUR)

    assert shift.lunch_window() == (midnight + 41_400, midnight + 48_600)


@pytest.mark.parametrize(
    ("service_seconds", "window"), [(1_799, (0, 1)), (1_800, (0, 0)), (1_801, None)]
)
def test_work_that_just_fits_may_start_when_the_window_opens(service_seconds, window):
    assert ending_by((0, 1_800), service_seconds) == window


@pytest.mark.parametrize(
    ("need", "read"),
    [
        ("certificate:3A@US-PA in full", "3A (US-PA)"),
        ("certificate:3A", "3A"),
        ("equipment:injector", "injector"),
        ("equipment:injector@home", "injector@home"),  # no category, so no place either
    ],
)
def test_a_need_is_read_as_a_person_would_say_it(need, read):
    assert bare({need}) == read


@pytest.mark.parametrize(
    "wrong",
    [
        {"service_seconds": -1},
        {"rinse_seconds": -1},
        {"spray_gallons": Decimal(-1)},
        {"rinse_gallons": Decimal(-1)},
        {"priority": -1},
        {"windows": ((1, 0),)},
    ],
)
def test_a_stop_takes_no_less_than_nothing(wrong):
    with pytest.raises(ImpossiblePlan):
        Stop(**{"key": "roses", "point": Point(0, 0), "windows": (), "service_seconds": 0} | wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"tank_gallons": Decimal(-1)},
        {"refill_seconds": -1},
        {"lunch_seconds": -1},
        {"maximum_refills": -1},
        {"starts": 1},
    ],
)
def test_a_shift_takes_no_less_than_nothing(wrong):
    with pytest.raises(ImpossiblePlan):
        CrewShift(**{"key": "Crew A", "yard": Point(0, 0), "starts": 0, "ends": 0} | wrong)


@pytest.mark.parametrize(
    ("told", "minutes"),
    [({}, 90), ({"priority": 2}, 180), ({"last_day": True}, 360), ({"priority": 0}, 0)],
)
def test_leaving_a_stop_out_counts_by_its_priority_and_last_day(told, minutes):
    # our own choice: an hour and a half, four times as much on the last day
    assert Stop("roses", Point(0, 0), (), 0, **told).prize() == minutes * 60
