"""Notices that go out by mail: written down with their cause, for the day that is planned."""

from datetime import datetime

from django.db import transaction

from services.models import Outbox, Visit
from services.telling.notices.people import notice_hours, people_to_tell
from services.telling.outbox import queue


@transaction.atomic
def queue_notices(visit: Visit, *, now: datetime) -> list[Outbox]:
    """Write down a notice for each person who has an email address; twice does it once.

    A notice goes out as soon as the rules of the place allow, and now where that has passed.
    """
    opens, _closes = notice_hours(visit)
    return [
        queue(
            Outbox.Kind.NOTICE,
            arguments=reader.arguments(visit),
            dedupe_key=reader.key,
            not_before=max(opens, now),
        )
        for reader in people_to_tell(visit)
        if reader.email
    ]


@transaction.atomic
def tell_again(visit: Visit, *, now: datetime) -> list[Outbox]:
    """Write down notices of the day to which a visit was moved; those of other days are dropped.

    What has gone out stays in the book, and what is just going out is not stopped.
    """
    readers = [reader.key for reader in people_to_tell(visit)]
    waiting = _notices(visit).filter(done_at__isnull=True, sending_since__isnull=True)
    waiting.exclude(dedupe_key__in=readers).delete()
    return queue_notices(visit, now=now)


def tell_again_where_told(visit: Visit, *, now: datetime) -> list[Outbox]:
    """Write down notices of the new day of a visit that was moved, where any was written before."""
    return tell_again(visit, now=now) if _notices(visit).exists() else []


def _notices(visit: Visit):
    return Outbox.objects.filter(dedupe_key__startswith=f"notice:{visit.pk}:")
