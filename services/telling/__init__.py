"""Tells the world outside: what is to be sent, the letters, clients' links, crews' calendars."""

from services.telling.checkpoints import keep_checkpoint
from services.telling.copies import mail_copy
from services.telling.digests import queue_digests
from services.telling.feeds import FeedUnknown, make_feed, read_feed, revoke_feed
from services.telling.letters import NobodyToTell
from services.telling.links import LinkEnded, LinkUnknown, client_of, make_link, revoke_link
from services.telling.notices import (
    Reader,
    log_contact,
    missed_notices,
    notice_hours,
    notices_given,
    people_to_tell,
    queue_notices,
    tell_again,
    tell_again_where_told,
    told_when,
)
from services.telling.outbox import claim, deliver, deliver_due, queue, send_again, sweep
from services.telling.stopping import NoSuchStop, client_of_stop, stop_letters

__all__ = [
    "FeedUnknown",
    "LinkEnded",
    "LinkUnknown",
    "NoSuchStop",
    "NobodyToTell",
    "Reader",
    "claim",
    "client_of",
    "client_of_stop",
    "deliver",
    "deliver_due",
    "keep_checkpoint",
    "log_contact",
    "mail_copy",
    "make_feed",
    "make_link",
    "missed_notices",
    "notice_hours",
    "notices_given",
    "people_to_tell",
    "queue",
    "queue_digests",
    "queue_notices",
    "read_feed",
    "revoke_feed",
    "revoke_link",
    "send_again",
    "stop_letters",
    "sweep",
    "tell_again",
    "tell_again_where_told",
    "told_when",
]
