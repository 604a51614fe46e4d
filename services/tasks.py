"""Celery's doors to the actions: each calls one, carries ids only, and may run twice."""

from celery import shared_task
from django.utils import timezone

from services import (
    bringing,
    packages,
    plannings,
    safekeeping,
    telling,
    watching,
    weathering,
    whole_book,
)

LONG = 2 * 3600  # s; a check reads the whole book


@shared_task
def deliver_outbox(outbox_id: int) -> bool:
    """Send what one row of the outbox asks for."""
    return telling.deliver(outbox_id)


@shared_task
def sweep_outbox() -> int:
    """Ring for all that is due and was not rung for, or whose message was lost."""
    return telling.sweep(timezone.now())


@shared_task
def keep_checkpoint() -> int:
    """Keep the checkpoint of a day and mail it; return its size, 0 where nothing is due or new."""
    kept = telling.keep_checkpoint(now=timezone.now())
    return kept.size if kept else 0


@shared_task
def back_up() -> str:
    """Make the backup of a day; return its file, "" where none is to be made."""
    return str(safekeeping.back_up_nightly(now=timezone.now()) or "")


@shared_task
def queue_digests() -> int:
    """Write down what the owners are told of a morning, once a day."""
    return telling.queue_digests(now=timezone.now())


@shared_task
def find_cell(point_id: int) -> bool:
    """Ask in which cell of the forecast grid one place lies."""
    return weathering.find_cell(point_id, now=timezone.now())


@shared_task
def fetch_forecast(cell_id: int) -> bool:
    """Fetch the forecast of one cell of the grid."""
    return weathering.fetch_forecast(cell_id, now=timezone.now())


@shared_task
def sweep_forecasts() -> int:
    """Ring for the forecasts that are due, if any are to be fetched."""
    return weathering.sweep_forecasts(timezone.now())


@shared_task
def make_package(package_id: int) -> bool:
    """Pack the records that one row asks for, paper after paper."""
    return packages.make_package(package_id)


@shared_task
def sweep_packages() -> int:
    """Ring for every package that is due, and take away what is a day old."""
    return packages.sweep_packages(timezone.now())


@shared_task
def run_planning(planning_id: int) -> bool:
    """Plan what one row asks for, step by step."""
    return plannings.run_planning(planning_id)


@shared_task
def sweep_plannings() -> int:
    """Ring for every plan that is due, whose message or worker was lost."""
    return plannings.sweep_plannings(timezone.now())


@shared_task
def run_bringing(bringing_id: int) -> bool:
    """Look at a file that somebody brings, or keep what was confirmed of it."""
    return bringing.run_bringing(bringing_id)


@shared_task
def sweep_bringings() -> int:
    """Ring for every file that waits, and forget those that nobody confirmed within a day."""
    return bringing.sweep_bringings(timezone.now())


@shared_task
def run_export(export_id: int) -> bool:
    """Make an export of the whole book, part by part."""
    return whole_book.run_export(export_id)


@shared_task
def sweep_exports() -> int:
    """Ring for every export that waits, and remove those whose days are over."""
    return whole_book.sweep_exports(timezone.now())


@shared_task
def beat_pulse(queue: str) -> None:
    """Note that a worker takes from the queue by which this came."""
    watching.beat_pulse(queue, now=timezone.now())


@shared_task(time_limit=LONG, soft_time_limit=LONG)
def check_book() -> int | None:
    """Check the whole book once a day; return how many faults were found, None where it was."""
    check = watching.check_book(now=timezone.now())
    return check.faults if check else None
