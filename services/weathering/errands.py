"""Fetches a yard's forecast from the national weather service, once an hour, under a lease.

Nothing is fetched unless the settings say so.  The request is made outside any transaction; what
comes is checked as a whole before a row is written, and what fails is tried again later.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import Q

from services.fetching import FetchFailed, Source, fetch_json
from services.models import ForecastErrand, HourlyForecast, Yard
from services.rules.weather import (
    ForecastHour,
    GridCell,
    WeatherUnreadable,
    both,
    cell_of_point,
    elevation_of_grid,
    hours_of_grid,
    hours_of_periods,
)
from services.weathering.knowing import FIGURES

EVERY = timedelta(hours=1)
LEASE = timedelta(minutes=6)  # longer than a task may run
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (2, 5, 15, 60))
GRID_HOLDS = timedelta(days=7)  # the grid of a point can change; this project's choice
KEPT_FOR = timedelta(days=2)


def sweep_forecasts(now: datetime) -> int:
    """Ring for every yard whose forecast is due; return how many, none where weather is off."""
    if not settings.WEATHER:
        return 0
    for yard in Yard.objects.filter(forecast_errand__isnull=True):
        ForecastErrand.objects.get_or_create(yard=yard, defaults={"not_before": now})
    due = list(_due_at(now).values_list("pk", flat=True))
    for errand_id in due:
        current_app.send_task("services.tasks.fetch_forecast", [errand_id], retry=False)
    return len(due)


def fetch_forecast(errand_id: int, *, now: datetime) -> bool:
    """Fetch and keep what an errand asks for, unless that was done; say whether it was now."""
    if not settings.WEATHER:
        return False
    if not _due_at(now).filter(pk=errand_id).update(leased_until=now + LEASE):
        return False
    errand = ForecastErrand.objects.select_related("yard").get(pk=errand_id)
    try:
        cell = _cell(errand, now)
        hours = _hours(errand, cell)
    except (FetchFailed, WeatherUnreadable) as error:
        return _put_off(errand, error, now)
    _keep(errand, cell, hours, now)
    return True


def _due_at(now: datetime):
    in_no_hand = Q(leased_until__isnull=True) | Q(leased_until__lt=now)
    return ForecastErrand.objects.filter(in_no_hand, not_before__lte=now)


def _cell(errand: ForecastErrand, now: datetime) -> GridCell:
    """Return the yard's cell of the grid; looked up anew when that was long ago."""
    x, y, found_at = errand.grid_x, errand.grid_y, errand.grid_found_at
    if x is not None and y is not None and found_at and now - found_at < GRID_HOLDS:
        return GridCell(errand.office, x, y)
    where = f"{errand.yard.latitude:.4f},{errand.yard.longitude:.4f}"
    cell = cell_of_point(fetch_json(service(), f"/points/{where}"))
    errand.office, errand.grid_x, errand.grid_y = cell.office, cell.x, cell.y
    errand.grid_found_at = now
    return cell


def _hours(errand: ForecastErrand, cell: GridCell) -> tuple[ForecastHour, ...]:
    address = f"/gridpoints/{cell.office}/{cell.x},{cell.y}"
    grid = fetch_json(service(), address)
    periods = fetch_json(service(), f"{address}/forecast/hourly")
    elevation = elevation_of_grid(grid)
    if elevation is not None and -1_500 <= elevation <= 20_000:
        errand.elevation_ft = int(elevation)
    hours = both(hours_of_periods(periods), hours_of_grid(grid))
    if not hours:
        raise WeatherUnreadable("The forecast tells no hour.")
    return hours


def service() -> Source:
    """Return the weather service as a source, named only by the settings."""
    name = f"Duskbook ({settings.WEATHER_CONTACT})"
    return Source(settings.WEATHER_HOSTS[0], headers={"User-Agent": name})


@transaction.atomic
def _keep(
    errand: ForecastErrand, cell: GridCell, hours: Sequence[ForecastHour], now: datetime
) -> None:
    source = HourlyForecast.Source.SERVICE
    known = HourlyForecast.objects.filter(yard=errand.yard, source=source)
    known.filter(starts_at__gte=hours[0].starts_at).delete()
    HourlyForecast.objects.filter(yard=errand.yard, starts_at__lt=now - KEPT_FOR).delete()
    HourlyForecast.objects.bulk_create(
        HourlyForecast(
            yard=errand.yard,
            starts_at=hour.starts_at,
            source=source,
            fetched_at=now,
            **{name: getattr(hour, name) for name in FIGURES},
        )
        for hour in hours
    )
    errand.fetched_at, errand.not_before, errand.leased_until = now, now + EVERY, None
    errand.failures, errand.last_error = 0, ""
    errand.save()


def _put_off(errand: ForecastErrand, error: Exception, now: datetime) -> bool:
    later = BACK_OFF[min(errand.failures, len(BACK_OFF) - 1)]
    ForecastErrand.objects.filter(pk=errand.pk).update(
        not_before=now + later,
        leased_until=None,
        failures=min(errand.failures + 1, 1_000),
        last_error=str(error)[:400],
    )
    return False
