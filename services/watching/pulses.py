"""Signs of life of the workers: a task that beat sends through each queue writes one down.

So one that is fresh proves clock, broker and worker together.
"""

from datetime import datetime, timedelta

from services.models import Pulse
from services.queues import HEAVY, OUTSIDE, QUEUES, SHORT

# Beat asks each minute; heavy work may keep every worker busy for as long as two tasks take.
SILENT_AFTER = {
    SHORT: timedelta(minutes=3),
    OUTSIDE: timedelta(minutes=5),
    HEAVY: timedelta(minutes=15),
}


def beat_pulse(queue: str, *, now: datetime) -> None:
    """Note that a worker takes from a queue."""
    Pulse.objects.update_or_create(queue=queue, defaults={"beaten_at": now})


def last_heard_of() -> dict[str, datetime]:
    """Return when a worker of each queue was last heard of; a queue without one is missing."""
    return dict(Pulse.objects.filter(queue__in=QUEUES).values_list("queue", "beaten_at"))


def silent_queues(now: datetime) -> list[str]:
    """Return the queues from which no worker seems to take anything."""
    heard = last_heard_of()
    return [
        queue for queue in QUEUES if queue not in heard or now - heard[queue] > SILENT_AFTER[queue]
    ]
