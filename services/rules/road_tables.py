"""What a road server of one's own is asked, and how its tables of travel are read.

Two open shapes are known: OSRM's table service [OSRM-HTTP] and Valhalla's matrix
[VALHALLA-MATRIX].  A cell that is null, or that no road could have, is left open for the great
circle to fill; an answer without the shape is refused as a whole.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from services.rules.travel import Point

BLOCK = 50  # starts and as many ends a request: 100 places, what servers take unless told otherwise
PLACES = 5  # decimals of a degree, about a meter
LONGEST_SECONDS = 24 * 3600  # a longer drive is no leg of a day; this project's choice
LONGEST_M = 2_000_000
MOST = 1e12  # beyond it nothing is a figure; it also holds off what is no number
METERS_IN = {"kilometers": 1000.0, "km": 1000.0, "miles": 1609.344, "mi": 1609.344}


class RoadsUnreadable(ValueError):
    """An answer that does not have the shape of a table of travel."""


class ServerKind(StrEnum):
    """Whose shape a road server speaks."""

    OSRM = "osrm"
    VALHALLA = "valhalla"


@dataclass(frozen=True, slots=True)
class Cell:
    """The way from one place to another by road."""

    seconds: float
    metres: float


@dataclass(frozen=True, slots=True)
class Question:
    """What a server is asked: a path, and a body where the shape wants one."""

    path: str
    body: Mapping[str, object] | None = None


Cells = tuple[tuple[Cell | None, ...], ...]


def rounded(point: Point) -> Point:
    """Return a point as it is asked for and remembered, in 5 decimals of a degree.

    >>> rounded(Point(40.1234567, -74.7654321))
    Point(latitude=40.12346, longitude=-74.76543)
    """
    return Point(round(point.latitude, PLACES), round(point.longitude, PLACES))


def blocks(points: Sequence[Point], size: int = BLOCK) -> Iterator[tuple[list[Point], list[Point]]]:
    """Yield starts and ends that together ask for every way between points.

    size: the most starts, and the most ends, of one request

    >>> [(len(starts), len(ends)) for starts, ends in blocks([Point(0, n) for n in range(3)], 2)]
    [(2, 2), (2, 1), (1, 2), (1, 1)]
    """
    parts = [list(points[place : place + size]) for place in range(0, len(points), size)]
    for starts in parts:
        for ends in parts:
            yield starts, ends


def question(kind: ServerKind, starts: Sequence[Point], ends: Sequence[Point]) -> Question:
    """Return what a server is asked for the ways from starts to ends.

    >>> asked = question(ServerKind.OSRM, [Point(40, -74)], [Point(41, -75)])
    >>> asked.path.partition("?")[0]
    '/table/v1/driving/-74.00000,40.00000;-75.00000,41.00000'
    """
    return _for_valhalla(starts, ends) if kind is ServerKind.VALHALLA else _for_osrm(starts, ends)


def cells_of(kind: ServerKind, answer: object, rows: int, columns: int) -> Cells:
    """Return the table of an answer, a row a start; None where it tells no way.

    rows, columns: as many starts and ends as were asked for
    Raise RoadsUnreadable where the answer is no such table.
    """
    if not isinstance(answer, Mapping):
        raise RoadsUnreadable("The road server's answer is no table.")
    read = _of_valhalla if kind is ServerKind.VALHALLA else _of_osrm
    return read(answer, rows, columns)


def _for_osrm(starts: Sequence[Point], ends: Sequence[Point]) -> Question:
    places = ";".join(f"{each.longitude:.5f},{each.latitude:.5f}" for each in (*starts, *ends))
    sources = ";".join(map(str, range(len(starts))))
    ends_at = ";".join(map(str, range(len(starts), len(starts) + len(ends))))
    asked = f"annotations=duration,distance&sources={sources}&destinations={ends_at}"
    return Question(f"/table/v1/driving/{places}?{asked}")


def _for_valhalla(starts: Sequence[Point], ends: Sequence[Point]) -> Question:
    def told(points: Sequence[Point]) -> list[dict[str, float]]:
        return [{"lat": each.latitude, "lon": each.longitude} for each in points]

    body = {"sources": told(starts), "targets": told(ends), "costing": "auto", "units": "km"}
    return Question("/sources_to_targets", body)


def _of_osrm(answer: Mapping, rows: int, columns: int) -> Cells:
    if answer.get("code") != "Ok":
        raise RoadsUnreadable(f"The road server answers “{str(answer.get('code'))[:40]}”.")
    durations = _table(answer.get("durations"), rows, columns)
    distances = _table(answer.get("distances"), rows, columns)
    return tuple(
        tuple(_cell(seconds, metres) for seconds, metres in zip(*pair, strict=True))
        for pair in zip(durations, distances, strict=True)
    )


def _of_valhalla(answer: Mapping, rows: int, columns: int) -> Cells:
    units = answer.get("units", "kilometers")
    if not isinstance(units, str) or units not in METERS_IN:
        raise RoadsUnreadable("The road server tells no unit of its distances.")
    table = _table(answer.get("sources_to_targets"), rows, columns)
    return tuple(tuple(_valhalla_cell(told, METERS_IN[units]) for told in row) for row in table)


def _valhalla_cell(told: object, metres_in_unit: float) -> Cell | None:
    if told is None:
        return None
    if not isinstance(told, Mapping):
        raise RoadsUnreadable("A cell of the road server's table is no object.")
    distance = _figure(told.get("distance"))
    return _cell(told.get("time"), None if distance is None else distance * metres_in_unit)


def _table(told: object, rows: int, columns: int) -> list[list]:
    table = told if isinstance(told, list) else []
    fits = all(isinstance(row, list) and len(row) == columns for row in table)
    if len(table) != rows or not fits:
        raise RoadsUnreadable(f"The road server's table is not {rows} by {columns}.")
    return table


def _cell(seconds: object, metres: object) -> Cell | None:
    time, length = _figure(seconds), _figure(metres)
    if time is None or length is None:
        return None
    return Cell(time, length) if time <= LONGEST_SECONDS and length <= LONGEST_M else None


def _figure(told: object) -> float | None:
    if told is None:
        return None
    if isinstance(told, bool) or not isinstance(told, int | float) or not 0 <= told <= MOST:
        raise RoadsUnreadable("A figure of the road server's table is no time or distance.")
    return float(told)
