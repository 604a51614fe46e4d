"""Copies of the book that leave the house: made, sealed, tried and brought back."""

from services.safekeeping.drilling import Drilled, drill
from services.safekeeping.packing import make_backup
from services.safekeeping.restoring import Restored, restore
from services.safekeeping.sealing import CannotKeep, NoBackup

__all__ = ["CannotKeep", "Drilled", "NoBackup", "Restored", "drill", "make_backup", "restore"]
