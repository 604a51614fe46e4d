"""Tries a backup: what would come back, and whether all of it is as it was kept.

Nothing of the book is touched; a backup counts only after such a trial.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any

from django.core.management import call_command
from django.utils.translation import gettext as _

from services.safekeeping.databases import copy_opened
from services.safekeeping.manifest import program_version, records_by_month, sample
from services.safekeeping.unpacking import Unpacked, unpacked
from services.verifying import verify
from treatments.models import ApplicationRecord


@dataclass(frozen=True, slots=True)
class Drilled:
    """What came out of a backup.

    wrong: what is not as it was kept, one sentence each; newest: when the last record was received
    """

    seconds: float
    entries: int
    records: dict[str, int]
    files: int
    made_at: datetime
    newest: datetime | None
    wrong: tuple[str, ...]

    def age(self, now: datetime) -> timedelta | None:
        """Return how old the newest record of the backup is."""
        return now - self.newest if self.newest else None


def drill(backup: Path, *, key: str) -> Drilled:
    """Bring a backup back beside the book, check it and throw it away; raise NoBackup for none."""
    start = monotonic()
    with unpacked(backup, key=key) as found, copy_opened(found.database):
        return checked(found, start)


def checked(found: Unpacked, start: float) -> Drilled:
    """Migrate an opened copy and hold it against what its backup says."""
    call_command("migrate", verbosity=0, interactive=False)
    told = found.manifest
    made_at = datetime.fromisoformat(told["made_at"])
    photos = found.database.parent / "media" / "photos"
    verdict = verify([told["checkpoint"]] if told["checkpoint"] else [], photos)
    records = records_by_month()
    wrong = [fault.say() for fault in verdict.faults[:20]]
    if records != told["records"]:
        wrong.append(_("The records by month are not those of the backup."))
    if not _is_printed_alike(told, made_at):
        wrong.append(_("The paper of the last record is printed otherwise than before."))
    last = ApplicationRecord.objects.order_by("-number").first()
    return Drilled(
        seconds=monotonic() - start,
        entries=verdict.size,
        records=records,
        files=len(found.files),
        made_at=made_at,
        newest=last.received_at if last else None,
        wrong=tuple(wrong),
    )


def _is_printed_alike(told: dict[str, Any], made_at: datetime) -> bool:
    """Say whether the last record prints as it did; another version may print it otherwise."""
    return told["program"] != program_version() or sample(made_at) == told["sample"]
