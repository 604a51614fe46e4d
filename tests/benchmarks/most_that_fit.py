"""How many stops no plan can exceed: a proof by hours, whatever the order and the search.

On each shift the work of its stops, with the shortest way to each of them, must go into the hours
of the shift; and what can only start within some hours must go into these.  Where time is not
certain it is given away, and tanks and lunch are left aside: what this allows need not be
possible, but what it does not allow is not.  A way by another place is never shorter, so that
only the ways between the stops themselves count.  The sum is done by HiGHS [HIGHS-2018], which
has no part in the search.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence

import highspy
import numpy as np

from services.rules.plans import DAY, CrewShift, Stop, Window
from services.rules.routing.ground import Ground, ground_of
from services.rules.routing.timetable import can_do, walk
from services.rules.travel import road_matrix

SECONDS = 30.0  # after which the bound is what is proven until then

Row = tuple[int, dict[int, int]]  # seconds there are, and the seconds each column takes


def most_that_fit(
    stops: Sequence[Stop], shifts: Sequence[CrewShift], kept: Collection[str] = ()
) -> int:
    """Return a number of stops that no plan of these shifts exceeds.

    kept: the keys of stops that are made in any case, which are not counted
    """
    ground = ground_of(stops, shifts, road_matrix)
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("time_limit", SECONDS)
    solver.changeObjectiveSense(highspy.ObjSense.kMaximize)
    by_stop: dict[str, list[int]] = defaultdict(list)
    by_shift: dict[str, dict[int, Stop]] = defaultdict(dict)
    for stop in stops:
        for shift in shifts:
            if can_do(shift, stop) and walk(shift, [stop], ground):
                column = sum(map(len, by_stop.values()))
                solver.addCol(0.0 if stop.key in kept else 1.0, 0.0, 1.0, 0, [], [])
                solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
                by_stop[stop.key].append(column)
                by_shift[shift.key][column] = stop
    for key, columns in by_stop.items():
        _add(solver, 1.0 if key in kept else 0.0, 1.0, dict.fromkeys(columns, 1))
    for shift in shifts:
        for seconds, took in _rows(shift, by_shift[shift.key], ground):
            _add(solver, -highspy.kHighsInf, seconds, took)
    solver.run()
    return int(solver.getInfo().mip_dual_bound + 1e-6)


def _add(solver: highspy.Highs, lower: float, upper: float, columns: dict[int, int]) -> None:
    places = np.array(list(columns), dtype=np.int32)
    weights = np.array(list(columns.values()), dtype=np.float64)
    solver.addRow(lower, upper, len(places), places, weights)


def _rows(shift: CrewShift, stops: dict[int, Stop], ground: Ground) -> Iterator[Row]:
    """Yield what a shift has time for: within each span of hours, and in all."""
    hours = {column: _hours(shift, stop) for column, stop in stops.items()}
    opens = {shift.starts, *(each[0] for each in hours.values())}
    closes = {shift.ends, *(each[1] for each in hours.values())}
    for span in ((first, last) for first in opens for last in closes if first <= last):
        inside = {
            column: stop
            for column, stop in stops.items()
            if span[0] <= hours[column][0] and hours[column][1] <= span[1]
        }
        if inside:
            yield _row(shift, span, inside, ground)


def _row(shift: CrewShift, span: Window, stops: dict[int, Stop], ground: Ground) -> Row:
    """Return the seconds of a span, with the last stop's work beyond it, and what each takes.

    Where the span begins with the shift the first way is from the yard, else it may lie before it.
    """
    is_from_yard = span[0] <= shift.starts
    ways = {
        column: min(
            [
                ground.seconds(other.point, stop.point)
                for number, other in stops.items()
                if number != column
            ]
            + [ground.seconds(shift.yard, stop.point)] * is_from_yard,
            default=0,
        )
        for column, stop in stops.items()
    }
    home = min(ground.seconds(stop.point, shift.yard) for stop in stops.values())
    longest = max(stop.service_seconds for stop in stops.values())
    ends = min(span[1] + longest, shift.ends - home)
    spare = 0 if is_from_yard else max(ways.values())
    took = {column: stop.service_seconds + ways[column] for column, stop in stops.items()}
    return ends - max(span[0], shift.starts) + spare, took


def _hours(shift: CrewShift, stop: Stop) -> Window:
    """Return when work at a stop may first and last start on the day of a shift."""
    windows = [window for window in stop.windows if window[0] // DAY == shift.day]
    return max(shift.starts, min(each[0] for each in windows)), max(each[1] for each in windows)
