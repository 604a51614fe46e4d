"""Which run of the book this is: after a restore from a backup it is another one."""

from treatments.chain import epoch as restored
from treatments.chain import head_at, journal_size

BEGINNING = "none"


def epoch() -> str:
    """Return the name of this run of the book, which phones compare and do not read."""
    if not journal_size():
        return BEGINNING
    return f"{head_at(1).origin.rpartition('-')[2]}-{restored()}"
