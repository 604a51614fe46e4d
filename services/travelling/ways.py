"""The ways between a plan's points: kept ones, those a road server tells, and the rest reckoned.

Only the server that the settings name is asked; it may stand in the own network.  What it does not
tell, or does not answer at all, is reckoned from the great circle, way by way, and the plan says
which.
"""

import logging
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from math import ceil
from urllib.parse import urlsplit

from django.conf import settings
from django.core.cache import cache

from clients.models import Property
from services.fetching import FetchFailed, fetch_json, source_of
from services.models import RoadWay, Yard
from services.rules.road_tables import (
    Cell,
    RoadsUnreadable,
    ServerKind,
    blocks,
    cells_of,
    question,
    rounded,
)
from services.rules.travel import (
    USUAL_ROADS,
    Matrix,
    Point,
    drive_seconds,
    great_circle_m,
    road_m,
)
from services.travelling.learning import driving_learned

HOLDS_FOR = timedelta(days=90)  # roads change seldom; this project's choice
QUIET_SECONDS = 120  # for which a server that failed is not asked again
FAILED = "road-server-failed"
Way = tuple[Point, Point]

log = logging.getLogger(__name__)


class Travelled:
    """Seconds and meters between points, for a plan to ask; it remembers which were reckoned.

    factors: how much longer drives are than reckoned, by the point of the yard
    may_ask: whether the server is asked for ways that are not kept
    """

    def __init__(
        self, factors: Mapping[Point, float], now: datetime, *, may_ask: bool = True
    ) -> None:
        self.factors = dict(factors)
        self.now, self.may_ask = now, may_ask
        self.server = settings.ROADS
        self.told: dict[Way, Cell] = {}
        self.asked: set[Point] = set()

    def __call__(self, points: Sequence[Point]) -> Matrix:
        """Return the seconds and meters from every point to every other."""
        if self.server:
            self._know(dict.fromkeys(rounded(point) for point in points))
        cells = [[self._way(start, end) for end in points] for start in points]
        return Matrix(
            seconds=tuple(tuple(seconds for seconds, _metres in row) for row in cells),
            metres=tuple(tuple(metres for _seconds, metres in row) for row in cells),
        )

    def is_reckoned(self, start: Point, end: Point) -> bool:
        """Say whether a way was reckoned from the great circle though a road server is named."""
        way = rounded(start), rounded(end)
        return bool(self.server) and way[0] != way[1] and way not in self.told

    def untold(self, places: Iterable[Property | Yard]) -> list[str]:
        """Return the ways from place to place that no server told though one is named."""
        ways = [
            f"{start.name} – {end.name}"
            for start, end in pairwise(places)
            if self.is_reckoned(point_of(start), point_of(end))
        ]
        return list(dict.fromkeys(ways))

    def factor_at(self, point: Point) -> float:
        """Return the factor of the yard nearest to a point, 1 where nothing is learned."""
        nearest = min(self.factors, key=lambda yard: great_circle_m(yard, point), default=None)
        return 1.0 if nearest is None else self.factors[nearest]

    def _way(self, start: Point, end: Point) -> tuple[int, int]:
        cell = self.told.get((rounded(start), rounded(end)))
        if cell is None:
            length = road_m(great_circle_m(start, end))
            seconds: float = drive_seconds(length)
        else:
            length = cell.metres
            seconds = cell.seconds + USUAL_ROADS.leg_minutes * 60 if cell.seconds else 0
        return ceil(round(seconds * self.factor_at(start), 6)), round(length)

    def _know(self, points: Iterable[Point]) -> None:
        """Learn the ways between points: from those that are kept, else from the server."""
        points = list(points)
        if self.asked.issuperset(points):
            return
        self.told |= kept_ways(self.server, points, self.now)
        if self.may_ask and not cache.get(FAILED):
            self.told |= self._fetched(points)
        self.asked |= set(points)

    def _fetched(self, points: Sequence[Point]) -> dict[Way, Cell]:
        """Return the ways that are not known yet; a server that fails is left alone for a while."""
        found: dict[Way, Cell] = {}
        for starts, ends in blocks(points):
            ways = [(start, end) for start in starts for end in ends if start != end]
            if all(way in self.told for way in ways):
                continue
            try:
                found |= fetched_ways(self.server, starts, ends)
            except (FetchFailed, RoadsUnreadable) as error:
                log.warning("The road server is left alone for a while: %s", error)
                cache.set(FAILED, True, QUIET_SECONDS)
                break
        keep_ways(self.server, found, self.now)
        return found


def travel_between(yards: Iterable[Yard], now: datetime) -> Travelled:
    """Return how a plan for crews of some yards reckons its driving."""
    learned = driving_learned(yards, now)
    points = [point_of(each.yard) for each in learned]
    factors = zip(points, (each.factor for each in learned), strict=True)
    return Travelled(dict(factors), now)


def point_of(place: Property | Yard) -> Point:
    """Return where a property or a yard is."""
    if isinstance(place, Property):
        return Point(*place.lies_at())
    return Point(float(place.latitude), float(place.longitude))


def fetched_ways(server: str, starts: Sequence[Point], ends: Sequence[Point]) -> dict[Way, Cell]:
    """Return the ways that a server tells from starts to ends; raise where it tells no table."""
    kind = ServerKind(settings.ROADS_KIND)
    asked = question(kind, starts, ends)
    source = source_of(server, may_be_private=True)
    path = urlsplit(server).path + asked.path
    cells = cells_of(kind, fetch_json(source, path, body=asked.body), len(starts), len(ends))
    return {
        (start, end): cell
        for start, row in zip(starts, cells, strict=True)
        for end, cell in zip(ends, row, strict=True)
        if cell is not None and start != end
    }


def kept_ways(server: str, points: Sequence[Point], now: datetime) -> dict[Way, Cell]:
    """Return the ways between points that a server told not too long ago."""
    latitudes = [_as_kept(point.latitude) for point in points]
    rows = RoadWay.objects.filter(
        server=_name(server),
        told_at__gt=now - HOLDS_FOR,
        from_latitude__in=latitudes,
        to_latitude__in=latitudes,
    )
    return {
        (
            Point(float(row.from_latitude), float(row.from_longitude)),
            Point(float(row.to_latitude), float(row.to_longitude)),
        ): Cell(row.seconds, row.metres)
        for row in rows
    }


def keep_ways(server: str, ways: Mapping[Way, Cell], now: datetime) -> None:
    """Keep what a server told, in place of what it told before."""
    rows = [
        RoadWay(
            server=_name(server),
            from_latitude=_as_kept(start.latitude),
            from_longitude=_as_kept(start.longitude),
            to_latitude=_as_kept(end.latitude),
            to_longitude=_as_kept(end.longitude),
            seconds=cell.seconds,
            metres=cell.metres,
            told_at=now,
        )
        for (start, end), cell in ways.items()
    ]
    places = ["from_latitude", "from_longitude", "to_latitude", "to_longitude"]
    RoadWay.objects.bulk_create(
        rows,
        batch_size=500,
        update_conflicts=True,
        update_fields=["seconds", "metres", "told_at"],
        unique_fields=["server", *places],
    )


def _as_kept(degrees: float) -> Decimal:
    return Decimal(f"{degrees:.5f}")


def _name(server: str) -> str:
    return f"{settings.ROADS_KIND} {server}"[:200]
