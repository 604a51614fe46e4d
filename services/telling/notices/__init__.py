"""Notices before a visit: who must or wants to be told, in which hours, and whether they were."""

from services.telling.notices.checking import missed_notices
from services.telling.notices.people import (
    Reader,
    notice_hours,
    people_to_tell,
    starts_of,
)
from services.telling.notices.sending import queue_notices, tell_again, tell_again_where_told
from services.telling.notices.told import (
    log_contact,
    notice_log,
    notices_given,
    told_when,
)

__all__ = [
    "Reader",
    "log_contact",
    "missed_notices",
    "notice_hours",
    "notice_log",
    "notices_given",
    "people_to_tell",
    "queue_notices",
    "starts_of",
    "tell_again",
    "tell_again_where_told",
    "told_when",
]
