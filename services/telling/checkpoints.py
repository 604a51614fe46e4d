"""Hands a daily checkpoint of the journal to the owner: a copy that no server can change."""

from datetime import datetime, timedelta

from django.contrib.auth import get_user_model
from django.db import transaction

from clients.access import Role
from services.models import Outbox
from services.telling.outbox import queue
from treatments.checkpointing import make_checkpoint
from treatments.models import Checkpoint

ONCE_IN = timedelta(hours=20)  # so that a book that is off at night has one each day all the same


@transaction.atomic
def keep_checkpoint(*, now: datetime) -> Checkpoint | None:
    """Keep the checkpoint of a day and mail it to the owners; None where nothing is due or new.

    One that a backup or an export made meanwhile is mailed as well as one made here.
    """
    addresses = sorted(addresses_of_owners())
    if _is_done_today(now, is_mailed=bool(addresses)):
        return None
    made = make_checkpoint(now=now)
    newest = Checkpoint.objects.order_by("-size").first()
    if newest is None or not addresses:
        return made
    if Outbox.objects.filter(dedupe_key__startswith=f"checkpoint:{newest.size}:").exists():
        return None
    for address in addresses:
        queue(
            Outbox.Kind.CHECKPOINT,
            arguments={"checkpoint": newest.pk, "address": address},
            dedupe_key=f"checkpoint:{newest.size}:{address}"[:200],
            not_before=now,
        )
    return newest


def _is_done_today(now: datetime, *, is_mailed: bool) -> bool:
    if is_mailed:
        return Outbox.objects.filter(
            kind=Outbox.Kind.CHECKPOINT, not_before__gt=now - ONCE_IN
        ).exists()
    return Checkpoint.objects.filter(made_at__gt=now - ONCE_IN).exists()


def addresses_of_owners() -> set[str]:
    """Return where the owners of the business can be written to."""
    owners = get_user_model().objects.filter(groups__name=Role.OWNER, is_active=True)
    return set(owners.exclude(email="").values_list("email", flat=True))
