"""Loads an invented forecast about the yard, which is known for as long as any other."""

from datetime import datetime, timedelta
from decimal import Decimal

from services.demonstration.reading import Days, moment
from services.models import HourlyForecast, Yard

DAYS_AHEAD = 4
# Wind in mph through the hours of a day: still at dawn and dusk, brisk in the afternoon.
WIND = (2, 2, 2, 2, 3, 3, 4, 4, 5, 5, 6, 7, 8, 9, 9, 8, 7, 6, 5, 4, 4, 3, 2, 2)
WARMTH = (0, 0, -1, -1, -2, -2, -1, 1, 3, 5, 7, 9, 10, 11, 12, 11, 10, 9, 7, 5, 4, 3, 2, 1)
WINDY_DAY, WET_DAY = 1, 3  # from the day it plays on
WINDY_HOURS, RAIN_HOURS = range(7, 20), range(9, 16)
COOLEST_F, WARMEST_F = 46, 68  # of the hour after midnight, in the middle of winter and of summer


def load_forecast(days: Days, told_at: datetime) -> None:
    """Load the hours of the coming days, as told at a moment."""
    yard = Yard.objects.order_by("pk")[0]
    midnight = moment(days.today, 0)
    HourlyForecast.objects.bulk_create(
        _hour(yard, midnight + timedelta(hours=number), number, told_at)
        for number in range(24 * DAYS_AHEAD)
    )


def _hour(yard: Yard, starts_at: datetime, number: int, told_at: datetime) -> HourlyForecast:
    day, hour = divmod(number, 24)
    wind = WIND[hour] + (7 if day == WINDY_DAY and hour in WINDY_HOURS else 0)
    is_wet = day == WET_DAY and hour in RAIN_HOURS
    summer = 1 - abs(starts_at.timetuple().tm_yday - 200) / 200
    night = COOLEST_F + round(summer * (WARMEST_F - COOLEST_F))
    return HourlyForecast(
        yard=yard,
        starts_at=starts_at,
        temperature_f=Decimal(night + WARMTH[hour]),
        humidity_percent=Decimal(95 if is_wet else 72 - 2 * WARMTH[hour]),
        wind_mph=Decimal(wind),
        gust_mph=Decimal(wind + 6) if wind > 8 else None,
        rain_percent=Decimal(80 if is_wet else 5),
        source=HourlyForecast.Source.INVENTED,
        fetched_at=told_at,
    )
