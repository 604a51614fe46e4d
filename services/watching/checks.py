"""Checks the whole book once a day and keeps what was found, so that others can be told."""

import logging
from datetime import UTC, datetime

from django.utils import timezone

from services.models import Check
from services.verifying import verify

logger = logging.getLogger(__name__)


def check_book(*, now: datetime) -> Check | None:
    """Check journal and tables unless a check was begun this day; return what was found.

    The row is written first: a check that ends the worker is not begun again and again.
    """
    check, is_new = Check.objects.get_or_create(
        day=now.astimezone(UTC).date(), defaults={"begun_at": now}
    )
    if not is_new:
        return None
    verdict = verify()
    first = verdict.first()
    check.entries, check.faults = verdict.size, verdict.count
    check.first_fault = first.say() if first else ""
    check.ended_at = timezone.now()
    check.save()
    if verdict.count:
        logger.error("the book was altered", extra={"faults": verdict.count})
    return check


def last_check() -> Check | None:
    """Return the newest check that came to its end, or None."""
    return Check.objects.filter(ended_at__isnull=False).order_by("-day").first()
