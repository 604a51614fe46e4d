"""Tells each owner once a morning what is late, due, lapsing or short; a quiet day has no mail."""

from datetime import datetime
from importlib import import_module

from django.contrib.auth import get_user_model
from django.db import transaction

from clients.access import Role
from services.models import Outbox, Yard
from services.telling.outbox import queue

FROM_HOUR = 5  # by the clocks of the yard, before the crews set out; our own choice


@transaction.atomic
def queue_digests(*, now: datetime) -> int:
    """Write down the morning's digest for each owner who has an address; return how many."""
    yard = Yard.objects.order_by("pk").first()
    if yard is None or (here := now.astimezone(yard.zone())).hour < FROM_HOUR:
        return 0
    owners = get_user_model().objects.filter(groups__name=Role.OWNER, is_active=True)
    told = [_queue(owner, here) for owner in owners.exclude(email="") if _has_news(owner, now)]
    return len(told)


def _queue(owner, here: datetime) -> Outbox:
    day = here.date().isoformat()
    return queue(
        Outbox.Kind.DIGEST,
        arguments={"owner": owner.pk},
        dedupe_key=f"digest:{day}:{owner.pk}",
        not_before=here,
    )


def _has_news(owner, now: datetime) -> bool:
    # What is shown stands above the actions, so it is reached only when it is asked for.
    return bool(import_module("services.showing.digest").digest_of(owner, now).parts)
