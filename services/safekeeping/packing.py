"""Makes a backup: one sealed file that holds the database, the photographs and the papers."""

import io
import json
import tarfile
from datetime import datetime
from pathlib import Path
from typing import Any

from services.safekeeping.databases import copied
from services.safekeeping.manifest import files_of_book, manifest_of_book
from services.safekeeping.sealing import Sealer, key_of, refuse_unable
from services.safekeeping.workplace import remove_drafts, workplace
from treatments.checkpointing import make_checkpoint, newest_checkpoint

MANIFEST = "manifest.json"


def make_backup(to: Path, *, key: str, now: datetime) -> Path:
    """Write a backup into a folder and return the file; what is not finished has another name.

    key: as it is printed.  Raise CannotKeep where a backup cannot be made here.
    """
    refuse_unable()
    secret = key_of(key)
    to.mkdir(parents=True, exist_ok=True)
    make_checkpoint(now=now)
    file = to / f"duskbook-{now:%Y%m%dT%H%M%SZ}.backup"
    draft = file.with_suffix(".part")
    remove_drafts(to)
    with workplace() as folder:
        with copied(folder) as copy:  # the manifest tells of the copy, not of a later book
            files = files_of_book()  # after the copy, which names no file that is not there
            manifest = manifest_of_book(newest_checkpoint(), files, now=now)
        _write(draft, secret, manifest, {copy.name: copy, **files})
    draft.replace(file)
    return file


def _write(draft: Path, key: bytes, manifest: dict[str, Any], files: dict[str, Path]) -> None:
    with draft.open("wb") as out:
        sealer = Sealer(out, key)
        with tarfile.open(fileobj=sealer, mode="w|gz") as tar:
            _add_text(tar, MANIFEST, json.dumps(manifest, indent=1, ensure_ascii=False))
            for name, path in files.items():
                tar.add(path, arcname=name, recursive=False)
        sealer.finish()


def _add_text(tar: tarfile.TarFile, name: str, text: str) -> None:
    data = text.encode()
    told = tarfile.TarInfo(name)
    told.size = len(data)
    tar.addfile(told, io.BytesIO(data))
