"""Who must be told before a visit, whether they were, and the notices that are still to go out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from services.models import Outbox, Visit
from services.telling.outbox import queue


@dataclass(frozen=True, slots=True)
class Reader:
    """Somebody to be told of a visit, and the key of the notice for its planned day."""

    name: str
    email: str
    key: str
    arguments: tuple[tuple[str, int], ...]


def people_to_tell(visit: Visit) -> list[Reader]:
    """Return the client, where notice is wanted, and the neighbours of a visit that sprays."""
    if visit.rotation_week.product is None:
        return []
    place = visit.course.property
    clients = [place.client] if place.client.wants_notice else []
    readers = [("client", client) for client in clients]
    readers += [("neighbour", neighbour) for neighbour in place.neighbours.all()]
    return [_reader(visit, what, person) for what, person in readers]


def notices_given(visits: Iterable[Visit]) -> frozenset[str]:
    """Return the keys of the notices of visits that have gone out, in one query."""
    keys = [reader.key for visit in visits for reader in people_to_tell(visit)]
    sent = Outbox.objects.filter(dedupe_key__in=keys, done_at__isnull=False)
    return frozenset(sent.values_list("dedupe_key", flat=True))


@transaction.atomic
def queue_notices(visit: Visit, *, not_before: datetime) -> list[Outbox]:
    """Write down a notice for each person who has an email address; twice does it once."""
    return [
        queue(
            Outbox.Kind.NOTICE,
            arguments=dict(reader.arguments),
            dedupe_key=reader.key,
            not_before=not_before,
        )
        for reader in people_to_tell(visit)
        if reader.email
    ]


def _reader(visit: Visit, what: str, person) -> Reader:
    return Reader(
        name=person.name,
        email=person.email,
        key=f"notice:{visit.pk}:{visit.planned.isoformat()}:{what}:{person.pk}",
        arguments=(("visit", visit.pk), (what, person.pk)),
    )
