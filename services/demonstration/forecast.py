"""Loads an invented forecast for the places of work, which is known for as long as any other.

Its cells are invented too; where forecasts are fetched, the places are asked about at once.
"""

from datetime import datetime, timedelta
from decimal import Decimal

from clients.models import Property
from services.demonstration.reading import Days, moment
from services.models import ForecastCell, ForecastPoint, HourlyForecast, Yard
from services.rules.grid_places import Corner, corner_of
from services.weathering.points import corners

DAYS_AHEAD = 4
# Wind in mph through the hours of a day: still at dawn and dusk, brisk in the afternoon.
WIND = (2, 2, 2, 2, 3, 3, 4, 4, 5, 5, 6, 7, 8, 9, 9, 8, 7, 6, 5, 4, 4, 3, 2, 2)
WARMTH = (0, 0, -1, -1, -2, -2, -1, 1, 3, 5, 7, 9, 10, 11, 12, 11, 10, 9, 7, 5, 4, 3, 2, 1)
WINDY_DAY, WET_DAY = 1, 3  # from the day it plays on
WINDY_HOURS, RAIN_HOURS = range(7, 20), range(9, 16)
COOLEST_F, WARMEST_F = 46, 68  # of the hour after midnight, in the middle of winter and of summer


OFFICE = "DUS"  # of this book alone: no office of the weather service has these letters
CELL = (Decimal("0.0225"), Decimal("0.0295"))  # degrees north and east of some 2.5 km at 40° north
BREEZIER = (0, 1, 0, 2, 1)  # mph by the row of a cell


def load_forecast(days: Days, told_at: datetime) -> None:
    """Load the hours of the coming days for yards and properties, as told at a moment."""
    yards = [corner_of(*each) for each in Yard.objects.values_list("latitude", "longitude")]
    homes = corners(Property.objects.all())
    cells: dict[tuple[int, int], ForecastCell] = {}
    for corner in sorted({*yards, *homes}):
        ForecastPoint.objects.create(
            latitude=corner[0],
            longitude=corner[1],
            cell=_cell(corner, yards[0], cells, told_at),
            not_before=told_at,
        )
    midnight = moment(days.today, 0)
    HourlyForecast.objects.bulk_create(
        _hour(cell, midnight + timedelta(hours=number), number, told_at)
        for cell in cells.values()
        for number in range(24 * DAYS_AHEAD)
    )


def _cell(
    corner: Corner, yard: Corner, cells: dict[tuple[int, int], ForecastCell], told_at: datetime
) -> ForecastCell:
    away = (here - there for here, there in zip(corner, yard, strict=True))
    north, east = (50 + round(far / size) for far, size in zip(away, CELL, strict=True))
    if (east, north) not in cells:
        cells[east, north] = ForecastCell.objects.create(
            office=OFFICE, grid_x=east, grid_y=north, not_before=told_at, fetched_at=told_at
        )
    return cells[east, north]


def _hour(
    cell: ForecastCell, starts_at: datetime, number: int, told_at: datetime
) -> HourlyForecast:
    day, hour = divmod(number, 24)
    breezier = BREEZIER[cell.grid_y % len(BREEZIER)]
    wind = WIND[hour] + breezier + (7 if day == WINDY_DAY and hour in WINDY_HOURS else 0)
    is_wet = day == WET_DAY and hour in RAIN_HOURS
    summer = 1 - abs(starts_at.timetuple().tm_yday - 200) / 200
    night = COOLEST_F + round(summer * (WARMEST_F - COOLEST_F))
    return HourlyForecast(
        cell=cell,
        starts_at=starts_at,
        temperature_f=Decimal(night + WARMTH[hour]),
        humidity_percent=Decimal(95 if is_wet else 72 - 2 * WARMTH[hour]),
        wind_mph=Decimal(wind),
        gust_mph=Decimal(wind + 6) if wind > 8 else None,
        rain_percent=Decimal(80 if is_wet else 5),
        source=HourlyForecast.Source.INVENTED,
        fetched_at=told_at,
    )
