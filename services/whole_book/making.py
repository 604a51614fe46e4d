"""Makes an export of the book in steps that a killed worker does not lose.

Each member is a file of its own until it is whole; the next worker goes on with those that are
missing.  At last the members are put into one ZIP with their manifest, in pieces: never more than
one paper is held at a time.
"""

import json
import shutil
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from time import monotonic

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from services import long_work
from services.journaling import hashed, journal_export
from services.models import BookExport
from services.packing import A_SECOND_ON_EARTH
from services.whole_book.contents import Member, contents
from treatments.models import ApplicationRecord

TASK = "services.tasks.run_export"
MOST_SECONDS = 150  # of one turn; below what a task may run
KEPT_FOR = timedelta(days=7)
PIECE = 1 << 20
FORMAT, VERSION = "duskbook-export", 1
ZIP_NAME, MANIFEST = "book.zip", "manifest.json"


@dataclass(frozen=True, slots=True)
class Made:
    """A member that lies whole in the folder."""

    member: Member
    path: Path


@transaction.atomic
def ask(*, by: User | None, language: str, now: datetime) -> BookExport:
    """Ask for the whole book; asked again while one is in the making, it is the same."""
    same = BookExport.objects.filter(is_waiting=True, asked_by=by, language=language).first()
    if same is not None:
        return same
    last = ApplicationRecord.objects.aggregate(last=Max("number"))["last"] or 0
    row = BookExport(asked_by=by, asked_at=now, language=language, records=last)
    row.full_clean()
    row.save()
    long_work.ring(TASK, row.pk)
    return row


def folder_of(row: BookExport) -> Path:
    """Return where an export lies while it is made and after."""
    return Path(settings.EXPORT_ROOT) / str(row.pk)


def file_of(row: BookExport) -> Path:
    """Return the file that is fetched."""
    return folder_of(row) / ZIP_NAME


def run_export(export_id: int, *, now: datetime | None = None, seconds: float = MOST_SECONDS):
    """Make what is missing of an export, unless another does; say whether it is done now.

    seconds: after which the rest is left to the next turn
    """
    row = long_work.claim(BookExport, export_id, now=now or timezone.now())
    if row is None:
        return False
    until = monotonic() + seconds
    try:
        made = _members_made(row, until)
        if made is None:
            long_work.change(row, leased_until=None, attempts=0)
            long_work.ring(TASK, row.pk)
            return False
        _finish(row, made)
    except long_work.TakenOver:
        return False
    return True


def sweep_exports(now: datetime) -> int:
    """Ring for every export that waits, and remove those whose days are over; return how many."""
    for row in BookExport.objects.filter(done_at__lt=now - KEPT_FOR, gone_at__isnull=True):
        remove(row, at=now)
    return long_work.sweep(BookExport, TASK, now)


def remove(row: BookExport, *, at: datetime) -> bool:
    """Remove the file of an export, or give one up that is in the making; say if it was there."""
    waiting = BookExport.objects.filter(pk=row.pk, gone_at__isnull=True)
    is_new = waiting.update(gone_at=at, is_waiting=False, leased_until=None)
    shutil.rmtree(folder_of(row), ignore_errors=True)
    return bool(is_new)


def _members_made(row: BookExport, until: float) -> list[Made] | None:
    """Return all members as files; None where the time was over before."""
    parts = folder_of(row) / "parts"
    parts.mkdir(parents=True, exist_ok=True, mode=0o700)
    members = list(contents(row))
    made = []
    for number, member in enumerate(members):
        path = parts / f"{number:06d}"
        if not path.exists():
            if number and monotonic() > until:
                return None
            long_work.step(row, number, len(members) + 1)
            _write_whole(path, member.pieces())
        made.append(Made(member, path))
    return made


def _write_whole(path: Path, pieces: Iterable[bytes]) -> None:
    begun = path.with_suffix(".begun")
    with begun.open("wb") as file:
        file.writelines(pieces)
    begun.replace(path)


def _finish(row: BookExport, made: list[Made]) -> None:
    long_work.step(row, len(made), len(made) + 1)
    begun = file_of(row).with_suffix(".begun")
    manifest = _zip(row, made, begun)
    begun.replace(file_of(row))
    size, digest = file_of(row).stat().st_size, _digest_of(file_of(row))[0]
    now = timezone.now()
    with transaction.atomic():
        journal_export(size, digest, hashed(MANIFEST, manifest), row.asked_by, now)
        long_work.end(row, done_at=now, size=size, sha256=digest, step=len(made) + 1)
    shutil.rmtree(folder_of(row) / "parts")


def _zip(row: BookExport, made: list[Made], path: Path) -> bytes:
    """Put the members into a ZIP with their manifest, which is returned."""
    files = []
    with zipfile.ZipFile(path, "w") as archive:
        for each in made:
            digest, size = _digest_of(each.path)
            files.append({"name": each.member.name, "size": size, "sha256": digest})
            info = zipfile.ZipInfo(each.member.name, A_SECOND_ON_EARTH)
            info.compress_type = (
                zipfile.ZIP_STORED if each.member.is_packed() else zipfile.ZIP_DEFLATED
            )
            info.file_size = size
            with archive.open(info, "w") as member, each.path.open("rb") as file:
                shutil.copyfileobj(file, member, PIECE)
        told = {"format": FORMAT, "version": VERSION, "asked_at": row.asked_at.isoformat()}
        manifest = json.dumps(told | {"count": len(files), "files": files}, indent=1).encode()
        info = zipfile.ZipInfo(MANIFEST, A_SECOND_ON_EARTH)
        info.compress_type = zipfile.ZIP_DEFLATED
        archive.writestr(info, manifest)
    return manifest


def _digest_of(path: Path) -> tuple[str, int]:
    digest, size = sha256(), 0
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            digest.update(piece)
            size += len(piece)
    return digest.hexdigest(), size
