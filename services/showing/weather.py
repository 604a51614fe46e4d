"""What is known of the coming hours about each yard, and who says so."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings

from services.models import ForecastErrand
from services.rules.weather import ForecastHour
from services.weathering import Forecasts, Outlook

AHEAD = timedelta(hours=36)
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class YardWeather:
    """A yard's outlook with the hours a page lists, and how the fetching goes."""

    outlook: Outlook
    hours: list[ForecastHour]
    errand: ForecastErrand | None

    def zone(self):
        """Return the zone in which the hours are told."""
        return self.outlook.yard.zone()


def yards_weather(forecasts: Forecasts) -> list[YardWeather]:
    """Return what is known about each yard from this hour on."""
    errands = {errand.yard_id: errand for errand in ForecastErrand.objects.all()}
    return [
        YardWeather(
            outlook,
            _coming(outlook, forecasts.now),
            errands.get(outlook.yard.pk) if settings.WEATHER else None,
        )
        for outlook in forecasts.outlooks
    ]


def _coming(outlook: Outlook, now: datetime) -> list[ForecastHour]:
    hours = outlook.hours.items()
    return [hour for instant, hour in hours if now - HOUR < instant < now + AHEAD]
