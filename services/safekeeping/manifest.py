"""What a backup says of itself, to be held against the book that comes out of it."""

import tomllib
from datetime import datetime
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import Count
from django.db.models.functions import TruncMonth

from services.printing import records_pdf
from treatments import chain
from treatments.models import ApplicationRecord

FORMAT, VERSION = "duskbook-backup", 1
FOLDERS = {"media": "MEDIA_ROOT", "paper": "PAPER_ROOT"}
PIECE = 1 << 20


def manifest_of_book(checkpoint: str, files: dict[str, Path], *, now: datetime) -> dict[str, Any]:
    """Return what a backup of the book as it stands says of itself.

    checkpoint: the text of one of the journal, "" while it is empty
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": program_version(),
        "schema": schema(),
        "vendor": connection.vendor,
        "made_at": now.isoformat(),
        "checkpoint": checkpoint,
        "epoch": chain.epoch(),
        "zones": version("tzdata"),
        "files": {name: digest_of_file(path) for name, path in sorted(files.items())},
        "records": records_by_month(),
        "sample": sample(now),
    }


def files_of_book() -> dict[str, Path]:
    """Return the photographs and papers that the book keeps, by their names in a backup."""
    found = {}
    for folder, setting in FOLDERS.items():
        root = Path(getattr(settings, setting))
        for path in sorted(root.rglob("*")) if root.is_dir() else ():
            if path.is_file() and not path.is_symlink():
                found[f"{folder}/{path.relative_to(root).as_posix()}"] = path
    return found


def digest_of_file(path: Path) -> str:
    """Return the SHA-256 of a file in hexadecimal digits."""
    digest = sha256()
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            digest.update(piece)
    return digest.hexdigest()


def records_by_month() -> dict[str, int]:
    """Return how many records there are of each month."""
    rows = (
        ApplicationRecord.objects.order_by()
        .annotate(month=TruncMonth("done_at"))
        .values_list("month")
        .annotate(count=Count("pk"))
    )
    return {f"{month:%Y-%m}": count for month, count in sorted(rows)}


def sample(now: datetime) -> dict[str, Any] | None:
    """Return the last record's number and the SHA-256 of its paper as printed at a moment."""
    record = ApplicationRecord.objects.order_by("-number").first()
    if record is None:
        return None
    pdf = records_pdf([record], language="en", now=now)
    return {"record": record.number, "pdf_sha256": sha256(pdf).hexdigest()}


def schema() -> dict[str, str]:
    """Return the last migration of each part of the program."""
    return dict(sorted(MigrationLoader(None).graph.leaf_nodes()))


@cache
def program_version() -> str:
    """Return the version of the program, as its own project file says."""
    file = settings.CHECKOUT / "pyproject.toml"
    return str(tomllib.loads(file.read_text(encoding="utf-8"))["project"]["version"])
