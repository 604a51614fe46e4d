"""Stretches of real days: which visits stand too close together, and which gaps need one."""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Sequence
from datetime import date, timedelta


def crowded(days: Sequence[date], span_days: int) -> Iterator[range]:
    """Yield the longest runs of two and more places whose days lie less than a span apart.

    days: rising
    span_days: two days this far apart are far enough

    >>> first = date(2026, 5, 4)
    >>> days = [first, first + timedelta(7), first + timedelta(14)]
    >>> list(crowded(days, 14)), list(crowded(days, 7))
    ([range(0, 2), range(1, 3)], [])
    """
    covered = 0
    for start, day in enumerate(days):
        end = bisect_left(days, day + timedelta(days=span_days))
        if end > covered and end - start > 1:
            yield range(start, end)
        covered = max(covered, end)


def near(days: Sequence[date], day: date, span_days: int) -> range:
    """Return the places whose days lie less than a span from a day, on either side.

    >>> near([date(2026, 5, 4), date(2026, 5, 11)], date(2026, 5, 1), 7)
    range(0, 1)
    """
    span = timedelta(days=span_days)
    return range(bisect_right(days, day - span), bisect_left(days, day + span))


def stretches(
    days: Sequence[date], known: Collection[date], reach_days: int, first: date, last: date
) -> Iterator[range]:
    """Yield the runs of places of which each needs one visit, so that none comes too late.

    days: that may get a visit, rising
    known: days on which there was one; those within reach of the first day count
    reach_days: a visit must follow within so many days, counted from the first day where no
        known one is within reach
    first, last: of the season; after the last day nothing is due

    A run may be empty: then no plan reaches far enough.

    >>> first = date(2026, 5, 4)
    >>> days = [first + timedelta(7 * week) for week in range(4)]
    >>> list(stretches(days, [], 14, first, days[-1]))
    [range(1, 3)]
    """
    reach = timedelta(days=reach_days)
    starts = {first, *days, *(day for day in known if day + reach >= first)}
    runs = set()
    for start in starts:
        due = start + reach
        if due >= last or any(start < day <= due for day in known):
            continue
        runs.add((bisect_right(days, start), bisect_right(days, due)))
    yield from (range(*run) for run in sorted(runs) if not _holds_another(run, runs))


def _holds_another(run: tuple[int, int], runs: set[tuple[int, int]]) -> bool:
    return any(
        other != run and run[0] <= other[0] and other[1] <= run[1] and other[0] < other[1]
        for other in runs
    )


def late_after(
    visits: Collection[date], reach_days: int, first: date, last: date
) -> Iterator[tuple[date, date]]:
    """Yield the days after which a visit came too late, each with the day it was due.

    visits: rising or not, before the season or in it; otherwise as in `stretches`

    >>> first = date(2026, 5, 4)
    >>> list(late_after([first, first + timedelta(21)], 14, first, first + timedelta(28)))
    [(datetime.date(2026, 5, 4), datetime.date(2026, 5, 18))]
    """
    reach = timedelta(days=reach_days)
    starts = sorted(day for day in visits if first <= day + reach and day <= last)
    if not starts or starts[0] > first:
        starts.insert(0, first)
    for start, following in zip(starts, [*starts[1:], last], strict=True):
        if following > start + reach:
            yield start, start + reach
