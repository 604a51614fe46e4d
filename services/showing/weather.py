"""What is known of the coming hours about each yard and in each cell of the grid, and by whom."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from django.conf import settings

from clients.models import Property
from services.models import ForecastCell, ForecastPoint, Yard
from services.rules.grid_places import Corner, corner_of
from services.rules.weather import ForecastHour
from services.weathering import Forecasts, Outlook, visited_soon

AHEAD = timedelta(hours=36)
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class HoursShown:
    """The coming hours about a yard or in a cell, with the places they stand for."""

    place: Yard | ForecastCell
    key: str
    outlook: Outlook
    hours: list[ForecastHour]
    zone: tzinfo
    errand: ForecastCell | None = None
    properties: tuple[Property, ...] = ()

    def days(self) -> list[tuple[date, list[ForecastHour]]]:
        """Return the hours by the days of their place."""
        by_day: dict[date, list[ForecastHour]] = defaultdict(list)
        for hour in self.hours:
            by_day[hour.starts_at.astimezone(self.zone).date()].append(hour)
        return list(by_day.items())


@dataclass(frozen=True, slots=True)
class WithoutCell:
    """A property whose cell nobody knows yet, and how asking went."""

    property: Property
    point: ForecastPoint | None


@dataclass(frozen=True, slots=True)
class WeatherShown:
    """All that the page of the weather tells."""

    yards: list[HoursShown]
    cells: list[HoursShown]
    without_cell: list[WithoutCell]


def weather_shown(forecasts: Forecasts) -> WeatherShown:
    """Return what is known from this hour on, in two queries."""
    places: dict[Corner, list[Property]] = defaultdict(list)
    for place in visited_soon(forecasts.now).order_by("name", "pk"):
        if place.latitude is not None and place.longitude is not None:
            places[corner_of(place.latitude, place.longitude)].append(place)
    return WeatherShown(
        yards=[_about(yard, forecasts) for yard in forecasts.yards],
        cells=list(_cells(places, forecasts)),
        without_cell=_without_cell(places, forecasts) if settings.WEATHER else [],
    )


def _about(yard: Yard, forecasts: Forecasts) -> HoursShown:
    outlook = forecasts.of(yard)
    return HoursShown(
        place=yard,
        key=f"yard-{yard.pk}",
        outlook=outlook,
        hours=_coming(outlook, forecasts.now),
        zone=yard.zone(),
        errand=outlook.cell if settings.WEATHER else None,
    )


def _cells(places: dict[Corner, list[Property]], forecasts: Forecasts) -> Iterable[HoursShown]:
    in_cell: dict[ForecastCell, list[Property]] = defaultdict(list)
    for corner, properties in places.items():
        if cell := forecasts.cells.get(corner):
            in_cell[cell] += properties
    for cell in sorted(in_cell, key=str):
        outlook = forecasts.in_cell(cell)
        yield HoursShown(
            place=cell,
            key=f"cell-{cell.pk}",
            outlook=outlook,
            hours=_coming(outlook, forecasts.now),
            zone=in_cell[cell][0].zone(),
            errand=cell if settings.WEATHER else None,
            properties=tuple(in_cell[cell]),
        )


def _without_cell(places: dict[Corner, list[Property]], forecasts: Forecasts) -> list[WithoutCell]:
    asked = {(each.latitude, each.longitude): each for each in ForecastPoint.objects.all()}
    return [
        WithoutCell(place, asked.get(corner))
        for corner, properties in places.items()
        if corner not in forecasts.cells
        for place in properties
    ]


def _coming(outlook: Outlook, now: datetime) -> list[ForecastHour]:
    hours = outlook.hours.items()
    return [hour for instant, hour in hours if now - HOUR < instant < now + AHEAD]
