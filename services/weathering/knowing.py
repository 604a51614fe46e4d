"""What is known of the coming hours at a place; what was told too long ago is not known.

The weather service tells the hours of the grid cell that a place lies in; what a person enters
stands for the places near a yard.  Of two that tell of an hour the later is taken.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from clients.models import Property
from services.models import ForecastCell, ForecastPoint, HourlyForecast, Yard
from services.rules.grid_places import Corner, corner_of
from services.rules.travel import great_circle_m
from services.rules.weather import ForecastHour
from services.travelling import point_of

FRESH_FOR = timedelta(hours=3)
CLOCKS_DIFFER = timedelta(minutes=5)
NEAR_MILES = 25  # how far from a yard entered hours are taken to hold; this project's choice
NEAR_M = NEAR_MILES * 1_609.344
FIGURES = ("temperature_f", "humidity_percent", "wind_mph", "gust_mph", "rain_percent")

Rows = Mapping[datetime, HourlyForecast]


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is known of the hours at a place; no hour at all where nothing fresh is.

    yard: the yard near it, about which hours may be entered by hand; None where none is near
    cell: the cell of the grid that it lies in; None where that is not known
    hours: by the instant at which they begin, in UTC
    told_at: when the oldest of them was told
    """

    yard: Yard | None = None
    cell: ForecastCell | None = None
    hours: Mapping[datetime, ForecastHour] = field(default_factory=dict)
    told_at: datetime | None = None
    sources: frozenset[str] = frozenset()

    @property
    def elevation_ft(self) -> float:
        """Return the feet above the sea as the grid tells them, 0 where it does not."""
        return self.cell.elevation_ft or 0 if self.cell else 0

    def is_known(self) -> bool:
        """Say whether anything fresh is known."""
        return bool(self.hours)

    def source_words(self) -> list[str]:
        """Return who says so, in words."""
        return [str(HourlyForecast.Source(source).label) for source in sorted(self.sources)]


@dataclass(frozen=True, slots=True)
class Forecasts:
    """What is known at a moment of all places, read once for a page or a plan."""

    now: datetime
    yards: tuple[Yard, ...]
    about_yards: Mapping[int, Rows]
    in_cells: Mapping[int, Rows]
    cells: Mapping[Corner, ForecastCell]
    _made: dict[tuple[int | None, int | None], Outlook] = field(default_factory=dict)

    def at(self, place: Property) -> Outlook | None:
        """Return what is known at a property, or None where nobody could tell.

        That is where neither its cell is known nor a yard is within NEAR_MILES.
        """
        if not place.is_located():
            return None
        yard, cell = self._near(place), self._cell(place)
        return self._outlook(yard, cell) if yard or cell else None

    def are_known(self) -> bool:
        """Say whether anything fresh is known of any place."""
        return bool(self.about_yards or self.in_cells)

    def tell_of(self, place: Property) -> bool:
        """Say whether anything fresh is known at a property."""
        outlook = self.at(place)
        return outlook is not None and outlook.is_known()

    def of(self, yard: Yard) -> Outlook:
        """Return what is known at a yard."""
        return self._outlook(yard, self._cell(yard))

    @property
    def outlooks(self) -> tuple[Outlook, ...]:
        """Return what is known at each yard."""
        return tuple(self.of(yard) for yard in self.yards)

    def in_cell(self, cell: ForecastCell) -> Outlook:
        """Return what the weather service tells of a cell."""
        return self._outlook(None, cell)

    def _cell(self, place: Property | Yard) -> ForecastCell | None:
        if place.latitude is None or place.longitude is None:
            return None
        return self.cells.get(corner_of(place.latitude, place.longitude))

    def _near(self, place: Property) -> Yard | None:
        point = point_of(place)
        far = {yard.pk: great_circle_m(point, point_of(yard)) for yard in self.yards}
        nearest = min(self.yards, key=lambda yard: far[yard.pk], default=None)
        return nearest if nearest and far[nearest.pk] <= NEAR_M else None

    def _outlook(self, yard: Yard | None, cell: ForecastCell | None) -> Outlook:
        key = (yard.pk if yard else None, cell.pk if cell else None)
        if key not in self._made:
            told = [self.about_yards.get(yard.pk, {})] if yard else []
            told += [self.in_cells.get(cell.pk, {})] if cell else []
            self._made[key] = _outlook(yard, cell, _latest(told))
        return self._made[key]


def forecasts_at(now: datetime) -> Forecasts:
    """Return what is known at a moment, in three queries."""
    fresh = HourlyForecast.objects.filter(
        fetched_at__gt=now - FRESH_FOR,
        fetched_at__lte=now + CLOCKS_DIFFER,
        starts_at__gt=now - timedelta(days=1),
    )
    about_yards: dict[int, dict[datetime, HourlyForecast]] = defaultdict(dict)
    in_cells: dict[int, dict[datetime, HourlyForecast]] = defaultdict(dict)
    for row in fresh.order_by("fetched_at", "pk"):
        if row.cell_id is not None:
            in_cells[row.cell_id][row.starts_at] = row
        elif row.yard_id is not None:
            about_yards[row.yard_id][row.starts_at] = row
    points = ForecastPoint.objects.filter(cell__isnull=False).select_related("cell")
    return Forecasts(
        now=now,
        yards=tuple(Yard.objects.order_by("pk")),
        about_yards=about_yards,
        in_cells=in_cells,
        cells={(each.latitude, each.longitude): each.cell for each in points if each.cell},
    )


def _latest(told: Iterable[Rows]) -> Rows:
    latest: dict[datetime, HourlyForecast] = {}
    for rows in told:
        for instant, row in rows.items():
            known = latest.get(instant)
            if known is None or known.fetched_at <= row.fetched_at:
                latest[instant] = row
    return latest


def _outlook(yard: Yard | None, cell: ForecastCell | None, rows: Rows) -> Outlook:
    return Outlook(
        yard=yard,
        cell=cell,
        hours={
            instant: ForecastHour(instant, *(getattr(row, name) for name in FIGURES))
            for instant, row in sorted(rows.items())
        },
        told_at=min((row.fetched_at for row in rows.values()), default=None),
        sources=frozenset(row.source for row in rows.values()),
    )
