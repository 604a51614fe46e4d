"""Celery's doors to the actions: each calls one, carries ids only, and may run twice."""

from celery import shared_task
from django.utils import timezone

from services import telling, weathering


@shared_task
def deliver_outbox(outbox_id: int) -> bool:
    """Send what one row of the outbox asks for."""
    return telling.deliver(outbox_id)


@shared_task
def sweep_outbox() -> int:
    """Ring for all that is due and was not rung for, or whose message was lost."""
    return telling.sweep(timezone.now())


@shared_task
def fetch_forecast(errand_id: int) -> bool:
    """Fetch the forecast that one errand asks for."""
    return weathering.fetch_forecast(errand_id, now=timezone.now())


@shared_task
def sweep_forecasts() -> int:
    """Ring for every forecast that is due, if any are to be fetched."""
    return weathering.sweep_forecasts(timezone.now())
