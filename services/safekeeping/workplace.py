"""A folder beside the book for a copy that is being made or brought back."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from time import time

from django.conf import settings

PREFIX = "copying-"
LEFT_AFTER = 24 * 60 * 60  # seconds; whoever still works does not take a day


@contextmanager
def workplace() -> Iterator[Path]:
    """Make a folder for the time of the block; one that was killed a day ago loses its own."""
    for left in Path(settings.DATA).glob(f"{PREFIX}*"):
        if left.stat().st_mtime < time() - LEFT_AFTER:
            shutil.rmtree(left, ignore_errors=True)
    with TemporaryDirectory(prefix=PREFIX, dir=settings.DATA) as name:
        yield Path(name)


def remove_drafts(folder: Path) -> None:
    """Remove the unfinished backups of those that were killed a day ago or earlier."""
    for left in folder.glob("duskbook-*.part"):
        if left.stat().st_mtime < time() - LEFT_AFTER:
            left.unlink(missing_ok=True)
