"""Runs the errands to the national weather service: in which cell a place lies, what a cell tells.

Nothing is asked unless the settings say so, and no run of the sweep asks for more than is bounded
here.  A request is made outside any transaction; what comes is checked as a whole before a row is
written, and what fails is tried again later.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from celery import current_app
from django.conf import settings
from django.db import transaction

from services.fetching import FetchFailed, Source, fetch_json
from services.models import ForecastCell, ForecastPoint, HourlyForecast
from services.models.weather import Errand
from services.rules.grid_places import path_of_cell, path_of_point
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
from services.weathering.points import forget_points, note_points

EVERY = timedelta(hours=1)
LEASE = timedelta(minutes=6)  # longer than a task may run
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (2, 5, 15, 60))
POINT_HOLDS = timedelta(days=7)  # the grid of a point can change; this project's choice
KEPT_FOR = timedelta(days=2)
# A run comes every five minutes, so that some 360 cells are fetched within an hour, and a cell
# takes two requests; this project's choice, for a service that is free and asks for restraint.
MOST_POINTS, MOST_CELLS = 20, 30


def sweep_forecasts(now: datetime) -> int:
    """Ring for the errands that are due, the oldest first; return how many, none where it is off.

    No run rings for more than MOST_POINTS places and MOST_CELLS cells.
    """
    forget_points()
    if not settings.WEATHER:
        return 0
    note_points(now)
    places = list(_due(ForecastPoint, now)[:MOST_POINTS])
    cells = list(_due(ForecastCell, now)[:MOST_CELLS])
    for place in places:
        current_app.send_task("services.tasks.find_cell", [place], retry=False)
    for cell in cells:
        current_app.send_task("services.tasks.fetch_forecast", [cell], retry=False)
    return len(places) + len(cells)


def find_cell(point_id: int, *, now: datetime) -> bool:
    """Ask in which cell a place lies, unless that was done; say whether it was now."""
    if not _taken(ForecastPoint, point_id, now):
        return False
    point = ForecastPoint.objects.get(pk=point_id)
    try:
        path = path_of_point(point.latitude, point.longitude)
        found = cell_of_point(fetch_json(service(), path))
    except (FetchFailed, WeatherUnreadable) as error:
        return _put_off(point, error, now)
    _keep_cell(point, found, now)
    return True


def fetch_forecast(cell_id: int, *, now: datetime) -> bool:
    """Fetch and keep the forecast of a cell, unless that was done; say whether it was now."""
    if not _taken(ForecastCell, cell_id, now):
        return False
    cell = ForecastCell.objects.get(pk=cell_id)
    try:
        hours = _hours(cell)
    except (FetchFailed, WeatherUnreadable) as error:
        return _put_off(cell, error, now)
    _keep_hours(cell, hours, now)
    return True


def service() -> Source:
    """Return the weather service as a source, named only by the settings."""
    name = f"Duskbook ({settings.WEATHER_CONTACT})"
    return Source(settings.WEATHER_HOSTS[0], headers={"User-Agent": name})


def _due(errands: type[Errand], now: datetime):
    due = errands.objects.due_at(now).order_by("not_before", "pk")
    return due.values_list("pk", flat=True)


def _taken(errands: type[Errand], pk: int, now: datetime) -> bool:
    """Take an errand into hand; say whether it was there to be taken."""
    if not settings.WEATHER:
        return False
    due = errands.objects.due_at(now).filter(pk=pk)
    return bool(due.update(leased_until=now + LEASE))


def _hours(cell: ForecastCell) -> tuple[ForecastHour, ...]:
    path = path_of_cell(GridCell(cell.office, cell.grid_x, cell.grid_y))
    grid = fetch_json(service(), path)
    periods = fetch_json(service(), f"{path}/forecast/hourly")
    elevation = elevation_of_grid(grid)
    if elevation is not None and -1_500 <= elevation <= 20_000:
        cell.elevation_ft = int(elevation)
    hours = both(hours_of_periods(periods), hours_of_grid(grid))
    if not hours:
        raise WeatherUnreadable("The forecast tells no hour.")
    return hours


@transaction.atomic
def _keep_cell(point: ForecastPoint, found: GridCell, now: datetime) -> None:
    point.cell, _made = ForecastCell.objects.get_or_create(
        office=found.office, grid_x=found.x, grid_y=found.y, defaults={"not_before": now}
    )
    _done(point, now, again=now + POINT_HOLDS)


@transaction.atomic
def _keep_hours(cell: ForecastCell, hours: Sequence[ForecastHour], now: datetime) -> None:
    known = HourlyForecast.objects.filter(cell=cell)
    known.filter(starts_at__gte=hours[0].starts_at).delete()
    HourlyForecast.objects.filter(starts_at__lt=now - KEPT_FOR).delete()
    HourlyForecast.objects.bulk_create(
        HourlyForecast(
            cell=cell,
            starts_at=hour.starts_at,
            source=HourlyForecast.Source.SERVICE,
            fetched_at=now,
            **{name: getattr(hour, name) for name in FIGURES},
        )
        for hour in hours
    )
    _done(cell, now, again=now + EVERY)


def _done(errand: Errand, now: datetime, *, again: datetime) -> None:
    errand.fetched_at, errand.not_before, errand.leased_until = now, again, None
    errand.failures, errand.last_error = 0, ""
    errand.save()


def _put_off(errand: Errand, error: Exception, now: datetime) -> bool:
    later = BACK_OFF[min(errand.failures, len(BACK_OFF) - 1)]
    type(errand).objects.filter(pk=errand.pk).update(
        not_before=now + later,
        leased_until=None,
        failures=min(errand.failures + 1, 1_000),
        last_error=str(error)[:400],
    )
    return False
