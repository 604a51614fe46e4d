"""What is known of the coming hours at a place; what was told too long ago is not known."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from clients.models import Property
from services.models import ForecastErrand, HourlyForecast, Yard
from services.rules.travel import great_circle_m
from services.rules.weather import ForecastHour
from services.travelling import point_of

FRESH_FOR = timedelta(hours=3)
CLOCKS_DIFFER = timedelta(minutes=5)
NEAR_M = 40_000  # how far a yard's forecast is taken to hold; this project's choice
FIGURES = ("temperature_f", "humidity_percent", "wind_mph", "gust_mph", "rain_percent")


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is known of the hours about a yard; no hour at all where nothing fresh is.

    hours: by the instant at which they begin, in UTC
    told_at: when the oldest of them was told
    """

    yard: Yard
    hours: Mapping[datetime, ForecastHour] = field(default_factory=dict)
    told_at: datetime | None = None
    sources: frozenset[str] = frozenset()
    elevation_ft: float = 0

    def is_known(self) -> bool:
        """Say whether anything fresh is known."""
        return bool(self.hours)

    def source_words(self) -> list[str]:
        """Return who says so, in words."""
        return [str(HourlyForecast.Source(source).label) for source in sorted(self.sources)]


@dataclass(frozen=True, slots=True)
class Forecasts:
    """The outlooks of all yards at a moment, read once for a page or a plan."""

    now: datetime
    outlooks: tuple[Outlook, ...]

    def at(self, place: Property) -> Outlook | None:
        """Return the outlook of the yard nearest to a property, or None where none is near."""
        if not place.is_located():
            return None
        point = point_of(place)
        far = {each.yard.pk: great_circle_m(point, point_of(each.yard)) for each in self.outlooks}
        nearest = min(self.outlooks, key=lambda each: far[each.yard.pk], default=None)
        return nearest if nearest and far[nearest.yard.pk] <= NEAR_M else None

    def of(self, yard: Yard) -> Outlook:
        """Return the outlook of a yard."""
        return next((each for each in self.outlooks if each.yard.pk == yard.pk), Outlook(yard))


def forecasts_at(now: datetime) -> Forecasts:
    """Return what is known at a moment, in three queries; of two sources the later is taken."""
    fresh = HourlyForecast.objects.filter(
        fetched_at__gt=now - FRESH_FOR,
        fetched_at__lte=now + CLOCKS_DIFFER,
        starts_at__gt=now - timedelta(days=1),
    )
    rows: dict[int, dict[datetime, HourlyForecast]] = {}
    for row in fresh.order_by("fetched_at", "pk"):
        rows.setdefault(row.yard_id, {})[row.starts_at] = row
    raised = dict(ForecastErrand.objects.values_list("yard_id", "elevation_ft"))
    yards = Yard.objects.order_by("pk")
    return Forecasts(
        now, tuple(_outlook(yard, rows.get(yard.pk, {}), raised.get(yard.pk)) for yard in yards)
    )


def _outlook(
    yard: Yard, rows: Mapping[datetime, HourlyForecast], elevation_ft: int | None
) -> Outlook:
    return Outlook(
        yard=yard,
        hours={
            instant: ForecastHour(instant, *(getattr(row, name) for name in FIGURES))
            for instant, row in sorted(rows.items())
        },
        told_at=min((row.fetched_at for row in rows.values()), default=None),
        sources=frozenset(row.source for row in rows.values()),
        elevation_ft=elevation_ft or 0,
    )
