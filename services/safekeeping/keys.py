"""The key that seals backups: from the settings, or made once and kept in the data folder."""

import os
from pathlib import Path

from django.conf import settings

from services.safekeeping.sealing import new_key


def key_file() -> Path:
    """Return where the book keeps the key that it made."""
    return Path(settings.DATA) / "backup-key"


def kept_key() -> str:
    """Return the key for backups as it is printed, "" where there is none yet."""
    if settings.BACKUP_KEY:
        return str(settings.BACKUP_KEY)
    file = key_file()
    return file.read_text(encoding="utf-8").strip() if file.is_file() else ""


def make_key() -> str:
    """Make the key of this book, for its owner's eyes only; one that is there stays."""
    file = key_file()
    file.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        out.write(new_key() + "\n")
    return kept_key()
