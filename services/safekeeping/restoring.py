"""Brings a book back from a backup, in the place of the one that is there."""

import os
import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Any

from django.conf import settings
from django.db import DatabaseError, transaction

from services.safekeeping.databases import copy_database, copy_opened, put_in_place
from services.safekeeping.drilling import Drilled, checked
from services.safekeeping.manifest import FOLDERS, digest_of_file, program_version
from services.safekeeping.sealing import NoBackup
from services.safekeeping.unpacking import Unpacked, unpacked
from treatments import chain
from treatments.models import Checkpoint
from treatments.rules.canonical import plain
from treatments.rules.journal import RESTORE


@dataclass(frozen=True, slots=True)
class Restored:
    """What came back, and the checkpoints of entries that did not."""

    drilled: Drilled
    lost: tuple[dict[str, Any], ...]
    epoch: str


def restore(backup: Path, *, key: str, reason: str, by: str, now: datetime) -> Restored:
    """Put the book of a backup in the place of this one, after it was tried; raise NoBackup.

    The journal of the restored book says so, with the head of the book that was replaced.  Until
    the last step nothing is changed; that step is one transaction of the database.
    """
    start = monotonic()
    former = _former_book()
    with unpacked(backup, key=key) as found:
        with copy_opened(found.database):
            drilled = checked(found, start)
            if drilled.wrong:
                raise NoBackup("\n".join(drilled.wrong))
            lost = [told for told in former["checkpoints"] if told["size"] > drilled.entries]
            _append(found, former["head"], lost, reason=reason, by=by, now=now)
            epoch = chain.epoch()
            ready = _written_again(found.database)
        _put_files(found.files)
        put_in_place(ready)
    return Restored(drilled, tuple(lost), epoch)


def _former_book() -> dict[str, Any]:
    """Return head and checkpoints of the book that is there, nothing where none can be read."""
    try:
        head = chain.head()
        kept = list(Checkpoint.objects.order_by("size").values("size", "root"))
    except DatabaseError:
        return {"head": None, "checkpoints": []}
    if head is None:
        return {"head": None, "checkpoints": kept}
    told = {"size": head.size, "root": head.root.hex()}
    return {"head": told, "checkpoints": [*(k for k in kept if k["size"] != head.size), told]}


@transaction.atomic
def _append(
    found: Unpacked,
    former: dict[str, Any] | None,
    lost: list[dict[str, Any]],
    *,
    reason: str,
    by: str,
    now: datetime,
) -> None:
    said = {
        "backup_made_at": found.manifest["made_at"],
        "backup_epoch": found.manifest["epoch"],
        "former_head": former,
        "lost": lost,
        "reason": reason,
        "restored_by": by,
        "program": program_version(),
    }
    chain.append(
        RESTORE,
        {name: plain(value) for name, value in said.items()},
        entry_id=chain.next_restore(),
        recorded_at=now,
    )


def _written_again(database: Path) -> Path:
    """Return the copy that is open now as a file, which on PostgreSQL is another one."""
    folder = database.parent / "ready"
    folder.mkdir()
    return copy_database(folder)


def _put_files(files: dict[str, Path]) -> None:
    """Put back what is missing; a file that is there with other content keeps it beside."""
    for name, path in files.items():
        folder, _slash, rest = name.partition("/")
        target = Path(getattr(settings, FOLDERS[folder])) / rest
        if target.exists():
            if digest_of_file(target) == digest_of_file(path):
                continue
            os.replace(target, target.with_name(f"{target.name}.before-restore"))
        target.parent.mkdir(parents=True, exist_ok=True)
        draft = target.with_name(f"{target.name}.part")
        shutil.copyfile(path, draft)
        draft.replace(target)
