"""Says of a file in one sentence why a command cannot read or write it."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management.base import CommandError


def plainly(error: OSError) -> str:
    """Return which file the system refuses, and why."""
    why = error.strerror or str(error)
    return f"{error.filename}: {why}" if error.filename else why


@contextmanager
def told_plainly(what: str, returncode: int = 1) -> Iterator[None]:
    """End the command with a sentence where the system refuses a file; what: what was not done.

    Raise CommandError.
    """
    try:
        yield
    except OSError as error:
        raise CommandError(f"{what}: {plainly(error)}", returncode=returncode) from error
