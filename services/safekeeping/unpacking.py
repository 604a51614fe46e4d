"""Opens a backup into a folder of its own and holds it against what it says of itself."""

import json
import shutil
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from django.db import connection
from django.utils.translation import gettext as _

from services.safekeeping.databases import POSTGRES_FILE, SQLITE_FILE, database_file
from services.safekeeping.manifest import FOLDERS, FORMAT, VERSION, digest_of_file, schema
from services.safekeeping.packing import MANIFEST
from services.safekeeping.sealing import NoBackup, Opener, key_of, refuse_unable
from services.safekeeping.workplace import workplace


@dataclass(frozen=True, slots=True)
class Unpacked:
    """A backup in a folder: what it says of itself, its database and its files by their names."""

    manifest: dict[str, Any]
    database: Path
    files: dict[str, Path]


@contextmanager
def unpacked(backup: Path, *, key: str) -> Iterator[Unpacked]:
    """Open a backup into a folder that is removed afterwards; raise NoBackup where it is none."""
    refuse_unable()
    secret = key_of(key)
    with workplace() as folder:
        with backup.open("rb") as file:
            _extract(Opener(file, secret), folder)
        yield _checked(folder)


def _extract(opened: Opener, folder: Path) -> None:
    try:
        with tarfile.open(fileobj=opened, mode="r|gz") as tar:
            for member in tar:
                _extract_one(tar, member, folder)
    except (tarfile.TarError, EOFError, OSError) as error:
        raise NoBackup(_("The backup cannot be unpacked: %(why)s") % {"why": error}) from error
    while opened.read(1 << 20):  # what follows must be sealed to the very end too
        pass


def _extract_one(tar: tarfile.TarFile, member: tarfile.TarInfo, folder: Path) -> None:
    """Write one file where it belongs, and nothing anywhere else."""
    path = PurePosixPath(member.name)
    is_ours = member.name in {MANIFEST, SQLITE_FILE, POSTGRES_FILE} or path.parts[0] in FOLDERS
    content = tar.extractfile(member) if member.isreg() else None
    if not is_ours or content is None or path.is_absolute() or ".." in path.parts:
        raise NoBackup(_("The backup holds what is not of a book: %(name)s") % {"name": path})
    target = folder.joinpath(*path.parts)
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("xb") as file:
        shutil.copyfileobj(content, file)


def _checked(folder: Path) -> Unpacked:
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        told = (manifest["format"], manifest["version"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise NoBackup(_("The backup does not say what it is.")) from error
    if told != (FORMAT, VERSION):
        raise NoBackup(_("The backup was made by another program or a later version of this one."))
    _refuse_later(manifest["schema"])
    if manifest["vendor"] != connection.vendor:
        raise NoBackup(
            _("The backup is of a book on %(theirs)s; this one is on %(ours)s.")
            % {"theirs": manifest["vendor"], "ours": connection.vendor}
        )
    return Unpacked(manifest, folder / database_file(), _checked_files(folder, manifest["files"]))


def _refuse_later(theirs: dict[str, str]) -> None:
    """Raise NoBackup where a later version of the program made the backup."""
    ours = schema()
    later = [app for app, name in theirs.items() if name > ours.get(app, "")]
    if later:
        raise NoBackup(
            _("A later version of the program made this backup (%(parts)s): update it first.")
            % {"parts": ", ".join(later)}
        )


def _checked_files(folder: Path, told: dict[str, str]) -> dict[str, Path]:
    files = {
        path.relative_to(folder).as_posix(): path
        for name in FOLDERS
        for path in (folder / name).rglob("*")
        if path.is_file()
    }
    wrong = sorted(
        name
        for name in files.keys() | told.keys()
        if name not in files or name not in told or digest_of_file(files[name]) != told[name]
    )
    if wrong:
        raise NoBackup(
            _("Files of the backup are not as they were kept: %(names)s")
            % {"names": ", ".join(wrong[:5])}
        )
    return files
