"""Local hours across the changes of daylight saving time in the United States in 2026.

The clocks go forward on the second Sunday of March and back on the first Sunday of November
[15USC260A]: 8 March and 1 November 2026.
"""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest

from services.rules.local_time import (
    HourComesTwice,
    HourDoesNotExist,
    changes_of_clocks,
    hours_after,
    instant_of,
    seconds_of_day,
    weekly_instants,
)

NEW_YORK = "America/New_York"


def test_a_weekly_visit_keeps_its_local_hour_when_the_clocks_go_back_15usc260a():
    instants = weekly_instants(date(2026, 10, 14), time(8), NEW_YORK, 6)

    assert [at.astimezone(UTC).hour for at in instants] == [12, 12, 12, 13, 13, 13]
    assert {at.hour for at in instants} == {8}


def test_the_skipped_hour_is_refused_15usc260a():
    with pytest.raises(HourDoesNotExist, match="2026-03-08 the clocks skip 02:30"):
        instant_of(date(2026, 3, 8), time(2, 30), NEW_YORK)


@pytest.mark.parametrize(("hour", "offset"), [(time(1, 59), "-0500"), (time(3), "-0400")])
def test_the_hours_beside_the_skipped_one_are_taken(hour, offset):
    assert f"{instant_of(date(2026, 3, 8), hour, NEW_YORK):%z}" == offset


def test_the_hour_that_comes_twice_is_asked_for_15usc260a():
    with pytest.raises(HourComesTwice, match="2026-11-01 it is 01:30 twice"):
        instant_of(date(2026, 11, 1), time(1, 30), NEW_YORK)


@pytest.mark.parametrize(("first", "hour_utc"), [(True, 5), (False, 6)])
def test_the_hour_that_comes_twice_can_be_told_apart(first, hour_utc):
    at = instant_of(date(2026, 11, 1), time(1, 30), NEW_YORK, first=first)

    assert at.astimezone(UTC) == datetime(2026, 11, 1, hour_utc, 30, tzinfo=UTC)


@pytest.mark.parametrize(("hour", "offset"), [(time(0, 59), "-0400"), (time(2), "-0500")])
def test_the_hours_beside_the_double_one_are_taken(hour, offset):
    assert f"{instant_of(date(2026, 11, 1), hour, NEW_YORK):%z}" == offset


def test_a_reentry_interval_counts_elapsed_hours_15usc260a():
    applied = instant_of(date(2026, 3, 7), time(20), NEW_YORK)

    open_again = hours_after(applied, Decimal(12))

    assert f"{open_again:%Y-%m-%d %H:%M:%S}" == "2026-03-08 09:00:00"


def test_hours_are_not_counted_from_a_time_without_a_zone():
    with pytest.raises(ValueError, match="time zone"):
        hours_after(datetime(2026, 3, 7, 20), Decimal(12))  # noqa: DTZ001


def test_seconds_of_the_day_are_what_the_clock_shows():
    noon = instant_of(date(2026, 3, 8), time(12), NEW_YORK)

    assert seconds_of_day(noon, date(2026, 3, 8), NEW_YORK) == 12 * 3600
    assert seconds_of_day(noon, date(2026, 3, 7), NEW_YORK) == 36 * 3600


@pytest.mark.parametrize("until", [8, 7])
def test_in_no_time_no_clocks_are_changed(until):
    # the clocks go forward on 8 March
    since = datetime(2026, 3, 8, tzinfo=UTC)

    assert changes_of_clocks(NEW_YORK, since, datetime(2026, 3, until, tzinfo=UTC)) == []


@pytest.mark.parametrize("since", [(1, 0, 0, 0), (2, 13, 41, 7), (3, 23, 59, 59), (5, 5, 5, 5)])
def test_the_changes_of_the_clocks_are_found_to_the_second_15usc260a(since):
    # 02:00 standard time is 07:00 UTC, 02:00 daylight saving time is 06:00 UTC
    found = changes_of_clocks(
        NEW_YORK, datetime(2026, 3, *since, tzinfo=UTC), datetime(2026, 12, 1, tzinfo=UTC)
    )

    assert found == [
        datetime(2026, 3, 8, 7, tzinfo=UTC),
        datetime(2026, 11, 1, 6, tzinfo=UTC),
    ]
