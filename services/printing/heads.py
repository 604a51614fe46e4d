"""The head of the journal as papers show it: whoever holds the paper holds a copy of it."""

from services.sheets.application_record import LogHead
from treatments import chain
from treatments.checkpointing import signed


def log_head() -> LogHead | None:
    """Return the head of the journal as it stands; None while it is empty."""
    head = chain.head()
    return LogHead(head.size, head.root.hex(), signed(head)) if head else None
