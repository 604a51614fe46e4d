"""Copies of the book that leave the house: made, sealed, tried and brought back."""

from services.safekeeping.drilling import Drilled, drill
from services.safekeeping.nightly import back_up_nightly, last_backup, made_at
from services.safekeeping.packing import make_backup
from services.safekeeping.restoring import Restored, restore
from services.safekeeping.sealing import CannotKeep, NoBackup

__all__ = [
    "CannotKeep",
    "Drilled",
    "NoBackup",
    "Restored",
    "back_up_nightly",
    "drill",
    "last_backup",
    "made_at",
    "make_backup",
    "restore",
]
