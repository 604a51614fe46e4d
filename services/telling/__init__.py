"""Tells the world outside: what is to be sent, the letters themselves, and clients' links."""

from services.telling.checkpoints import keep_checkpoint
from services.telling.letters import NobodyToTell
from services.telling.links import LinkEnded, LinkUnknown, client_of, make_link, revoke_link
from services.telling.notices import (
    missed_notices,
    notice_hours,
    notices_given,
    people_to_tell,
    queue_notices,
    tell_again,
)
from services.telling.outbox import claim, deliver, deliver_due, queue, send_again, sweep

__all__ = [
    "LinkEnded",
    "LinkUnknown",
    "NobodyToTell",
    "claim",
    "client_of",
    "deliver",
    "deliver_due",
    "keep_checkpoint",
    "make_link",
    "missed_notices",
    "notice_hours",
    "notices_given",
    "people_to_tell",
    "queue",
    "queue_notices",
    "revoke_link",
    "send_again",
    "sweep",
    "tell_again",
]
