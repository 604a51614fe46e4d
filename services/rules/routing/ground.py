"""The ground a plan covers: its points, each once, and the way between any two."""

from collections.abc import Iterable

from services.rules.plans import CrewShift, Stop, Travel
from services.rules.travel import Matrix, Point


class Ground:
    """The points of a plan with their seconds and meters, asked for by point.

    >>> from services.rules.travel import road_matrix
    >>> ground = Ground([Point(0, 0), Point(0.01, 0), Point(0, 0)], road_matrix)
    >>> len(ground.points), ground.seconds(Point(0, 0), Point(0.01, 0))
    (2, 261)
    """

    def __init__(self, points: Iterable[Point], travel: Travel) -> None:
        self.points: tuple[Point, ...] = tuple(dict.fromkeys(points))
        self.matrix: Matrix = travel(self.points)
        self.index: dict[Point, int] = {point: place for place, point in enumerate(self.points)}

    def seconds(self, start: Point, end: Point) -> int:
        """Return the seconds from one point to another."""
        return self.matrix.seconds[self.index[start]][self.index[end]]

    def metres(self, start: Point, end: Point) -> int:
        """Return the meters from one point to another."""
        return self.matrix.metres[self.index[start]][self.index[end]]


def ground_of(stops: Iterable[Stop], shifts: Iterable[CrewShift], travel: Travel) -> Ground:
    """Return the ground of the yards and stops of a plan."""
    return Ground([shift.yard for shift in shifts] + [stop.point for stop in stops], travel)
