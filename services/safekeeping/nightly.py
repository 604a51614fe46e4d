"""Makes a backup once a day where the owner has named a folder and a key for it."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings

from services.safekeeping.packing import make_backup

ONCE_IN = timedelta(hours=20)  # so that a book that is off at night has one each day all the same
KEPT = 30  # the newest; a month of days


def back_up_nightly(*, now: datetime) -> Path | None:
    """Make the backup of a day and return its file; None where it is off or was made already.

    Raise CannotKeep where it cannot be made.
    """
    last = last_backup()
    if not settings.NIGHTLY_BACKUPS or (last is not None and made_at(last) > now - ONCE_IN):
        return None
    file = make_backup(settings.BACKUPS, key=settings.BACKUP_KEY, now=now)
    for old in _backups()[:-KEPT]:
        old.unlink()
    return file


def last_backup() -> Path | None:
    """Return the newest backup in the folder for backups, None where there is none."""
    return next(reversed(_backups()), None)


def made_at(backup: Path) -> datetime:
    """Return when a backup was made, as its name says."""
    return datetime.strptime(backup.name, "duskbook-%Y%m%dT%H%M%SZ.backup").replace(tzinfo=UTC)


def _backups() -> list[Path]:
    """Return the whole backups in the folder, the oldest first."""
    return sorted(settings.BACKUPS.glob("duskbook-????????T??????Z.backup"))
