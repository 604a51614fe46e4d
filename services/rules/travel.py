"""How far and how long it is from stop to stop where no road server is at hand.

The road is taken as the great circle times a circuity that falls with the distance, the drive as a
slow first stretch and a faster rest, and every leg costs some minutes for the gate and parking.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import asin, ceil, cos, radians, sin, sqrt
from statistics import median

EARTH_RADIUS_M = 6_371_008.8  # mean radius of the WGS 84 ellipsoid [MORITZ-GRS80]


@dataclass(frozen=True, slots=True)
class Point:
    """A point on the earth, in degrees, north and east positive."""

    latitude: float
    longitude: float

    def __post_init__(self) -> None:
        if abs(self.latitude) > 90 or abs(self.longitude) > 180:
            raise ValueError("A point lies within 90 degrees of latitude and 180 of longitude.")


@dataclass(frozen=True, slots=True)
class Roads:
    """How a branch's roads are taken to be; a branch may set its own from recorded drives.

    circuity: (straight-line km up to which it holds, factor), nearest first, then `far_circuity`;
        about 1.2 for long trips [ROAD-CIRCUITY], more for short ones [METRO-CIRCUITY]; the bands
        are our own choice
    leg_minutes: for gate and parking (common practice)
    slow_kmh for the first `slow_km` of a leg, fast_kmh for the rest (common practice)
    """

    circuity: tuple[tuple[float, float], ...] = ((5.0, 1.40), (25.0, 1.30))
    far_circuity: float = 1.20
    leg_minutes: float = 2.0
    slow_km: float = 10.0
    slow_kmh: float = 40.0
    fast_kmh: float = 65.0

    def __post_init__(self) -> None:
        if min(self.slow_kmh, self.fast_kmh) <= 0 or self.leg_minutes < 0 or self.slow_km < 0:
            raise ValueError("Speeds are above 0; minutes and kilometers are not negative.")
        if min(self.far_circuity, *(factor for _, factor in self.circuity)) < 1:
            raise ValueError("No road is shorter than the straight line: circuity is 1 or more.")
        if any(nearer[0] >= farther[0] for nearer, farther in pairwise(self.circuity)):
            raise ValueError("The bands of circuity go from the nearest to the farthest.")


USUAL_ROADS = Roads()
LEAST_DRIVES = 20  # this project's choice
LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0  # this project's choice


@dataclass(frozen=True, slots=True)
class Matrix:
    """Whole seconds and meters from every point to every other, in the order of the points."""

    seconds: tuple[tuple[int, ...], ...]
    metres: tuple[tuple[int, ...], ...]


def great_circle_m(start: Point, end: Point) -> float:
    """Return the meters between two points over the sphere of the earth's mean radius.

    >>> round(great_circle_m(Point(0, 0), Point(1, 0)), 3)
    111195.08
    """
    rise = radians(end.latitude - start.latitude)
    turn = radians(end.longitude - start.longitude)
    shrink = cos(radians(start.latitude)) * cos(radians(end.latitude))
    half_chord_squared = sin(rise / 2) ** 2 + shrink * sin(turn / 2) ** 2
    return 2 * EARTH_RADIUS_M * asin(min(1.0, sqrt(half_chord_squared)))


def road_m(straight_m: float, roads: Roads = USUAL_ROADS) -> float:
    """Return the meters of road for meters of straight line; never less for a longer line.

    >>> road_m(1_000), round(road_m(10_000)), round(road_m(100_000))
    (1400.0, 13000, 120000)
    """
    shortest = 0.0
    for reach_km, factor in roads.circuity:
        if straight_m <= reach_km * 1000:
            return max(shortest, straight_m * factor)
        shortest = max(shortest, reach_km * 1000 * factor)
    return max(shortest, straight_m * roads.far_circuity)


def drive_seconds(length_m: float, roads: Roads = USUAL_ROADS) -> int:
    """Return the whole seconds, rounded up, of a leg of a length of road; 0 for no leg at all.

    >>> drive_seconds(10_000)  # 2 min + 10 km at 40 km/h
    1020
    """
    if length_m <= 0:
        return 0
    slow_m = min(length_m, roads.slow_km * 1000)
    hours = slow_m / 1000 / roads.slow_kmh + (length_m - slow_m) / 1000 / roads.fast_kmh
    return ceil(round(roads.leg_minutes * 60 + hours * 3600, 6))


def road_matrix(points: Sequence[Point], roads: Roads = USUAL_ROADS) -> Matrix:
    """Return the seconds and meters from every point to every other; there and back are alike.

    >>> road_matrix([Point(0, 0), Point(0, 0)]).seconds
    ((0, 0), (0, 0))
    """
    lengths = [
        [road_m(great_circle_m(a, b), roads) for b in points[: place + 1]]
        for place, a in enumerate(points)
    ]
    return Matrix(
        seconds=_both_ways([[drive_seconds(length, roads) for length in row] for row in lengths]),
        metres=_both_ways([[round(length) for length in row] for row in lengths]),
    )


def _both_ways(half: Sequence[Sequence[int]]) -> tuple[tuple[int, ...], ...]:
    """Return a square of which only what lies on and below the diagonal is given."""
    return tuple(
        (*row, *(below[place] for below in half[place + 1 :])) for place, row in enumerate(half)
    )


def learned_factor(drives: Sequence[tuple[float, float]]) -> float | None:
    """Return by how much recorded drives are longer than they were reckoned, or None.

    drives: (recorded seconds, reckoned seconds) of drives whose beginning and end are recorded

    The median of the shares, so that one odd day moves nothing, held between LEAST_FACTOR and
    MOST_FACTOR; None for fewer than LEAST_DRIVES.

    >>> learned_factor([(720, 600)] * 20), learned_factor([(720, 600)] * 19)
    (1.2, None)
    """
    shares = [recorded / reckoned for recorded, reckoned in drives if min(recorded, reckoned) > 0]
    if len(shares) < LEAST_DRIVES:
        return None
    return round(min(max(median(shares), LEAST_FACTOR), MOST_FACTOR), 2)
