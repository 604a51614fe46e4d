"""The clocks of a record across changes of the clocks, leap days and zones.

They run from the stated end of the application to the receipt at the server.  The clocks of the
United States go forward on the second Sunday of March and back on the first of November
[15USC260A]: 8 March and 1 November 2026.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from treatments.models import Certificate
from treatments.recording import clocks_of, record_application
from treatments.rules.records import Circumstances, copies_due, record_due


def kept(stated, done_at, received_at):
    hour = timedelta(minutes=40)
    return record_application(
        **stated | {"started_at": done_at - hour, "done_at": done_at, "captured_at": done_at},
        now=received_at,
    )


def is_late(record):
    return "written-late" in {flag["code"] for flag in record.flags}


@pytest.fixture(autouse=True)
def certified_for_long(applicator):
    Certificate.objects.update(expires_on=date(2040, 1, 1))


@pytest.mark.parametrize(
    ("done_at", "due_there"),
    [
        # 19:00 EST on the evening before the clocks go forward: due at 20:00 EDT
        (datetime(2026, 3, 8, 0, 0, tzinfo=UTC), "2026-03-08 20:00 EDT"),
        # 19:00 EDT on the evening before they go back: due at 18:00 EST
        (datetime(2026, 10, 31, 23, 0, tzinfo=UTC), "2026-11-01 18:00 EST"),
        # an ordinary evening, and the last of February of a leap year
        (datetime(2026, 7, 6, 23, 0, tzinfo=UTC), "2026-07-07 19:00 EDT"),
        (datetime(2028, 2, 29, 0, 0, tzinfo=UTC), "2028-02-29 19:00 EST"),
    ],
)
def test_24_hours_are_elapsed_hours_told_by_the_clock_of_the_place(stated, done_at, due_there):
    # [PA-128-35] within 24 hours
    due = clocks_of(kept(stated, done_at, done_at)).due.due_at

    assert due - done_at == timedelta(hours=24)
    assert f"{due:%Y-%m-%d %H:%M %Z}" == due_there


@pytest.mark.parametrize(
    "done_at", [datetime(2026, 3, 8, tzinfo=UTC), datetime(2026, 11, 1, tzinfo=UTC)]
)
@pytest.mark.parametrize(("seconds", "late"), [(-1, False), (0, False), (1, True)])
def test_a_record_is_late_a_second_after_its_time_and_kept_all_the_same(
    stated, done_at, seconds, late
):
    # [PA-128-35] on both sides of the limit and at it, on the days of [15USC260A]
    received = done_at + timedelta(hours=24, seconds=seconds)

    record = kept(stated, done_at, received)

    assert record.pk
    assert is_late(record) == late


def test_the_receipt_counts_not_what_a_device_says(stated):
    done = datetime(2026, 7, 6, 22, tzinfo=UTC)

    # written down at once, received two days later
    assert is_late(kept(stated, done, done + timedelta(days=2)))


def test_the_day_is_that_of_the_place_not_of_the_server(stated, library):
    # 23:30 on 28 February at the Delaware is 1 March in UTC; three years [PA-128-35]
    record = kept(
        stated, datetime(2027, 3, 1, 4, 30, tzinfo=UTC), datetime(2027, 3, 1, 5, tzinfo=UTC)
    )

    assert clocks_of(record).kept.keep_until == date(2030, 2, 28)


@pytest.mark.parametrize(
    ("done_at", "last"),
    [
        (datetime(2028, 2, 26, 18, tzinfo=UTC), date(2028, 3, 2)),  # with a 29 February between
        (datetime(2027, 2, 26, 18, tzinfo=UTC), date(2027, 3, 3)),
    ],
)
def test_minnesotas_five_days_are_calendar_days_across_a_leap_day(done_at, last):
    # [MN-18B] within five days
    assert record_due(done_at, "US-MN").due_at.date() == last


@pytest.mark.parametrize(
    ("day", "due"), [(date(2028, 2, 1), date(2028, 3, 2)), (date(2027, 2, 1), date(2027, 3, 3))]
)
def test_idahos_thirty_days_for_the_copy_count_a_leap_day(day, due):
    # [ID-02-03-03] 30 days, of restricted use
    duties = copies_due(day, "US-ID", Circumstances(restricted_use=True))

    assert [duty.due_on for duty in duties] == [due]


def test_what_is_kept_from_a_leap_day_is_kept_no_day_less(stated):
    # [PA-128-35] three years after 29 February 2028 there is none: kept until 1 March 2031
    done = datetime(2028, 2, 29, 20, tzinfo=UTC)

    assert clocks_of(kept(stated, done, done)).kept.keep_until == date(2031, 3, 1)
