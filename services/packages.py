"""Packs many records while nobody waits: paper after paper, each kept, then the whole.

A worker holds the row under a lease that each paper renews.  When it is killed, or its time is
over, the next one goes on from the papers that were drawn.
"""

import shutil
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic

from celery import current_app
from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from services.models import AskedPackage
from services.packing import ON_ONE_PAPER, Wanted, draw_papers, package, parts_of

LEASE = timedelta(minutes=6)  # longer than a task may run
MOST_ATTEMPTS = 5  # without a paper between them
MOST_SECONDS = 150  # of drawing in one go, below what a task may run
KEPT_FOR = timedelta(days=1)
FILE = "records.zip"


def is_long(numbers: list[int]) -> bool:
    """Say whether so many records are packed that nobody is to wait for it."""
    return len(numbers) > ON_ONE_PAPER


@transaction.atomic
def ask_package(
    numbers: list[int], *, language: str, with_notes: bool, by: User, now: datetime
) -> AskedPackage:
    """Ask for a package of records; asked again while it is there, it is the same."""
    told = {"numbers": numbers, "language": language, "with_notes": with_notes}
    asked = AskedPackage.objects.filter(asked_by=by, failed_at__isnull=True, done_at__isnull=True)
    for same in asked:
        if same.numbers == numbers and (same.language, same.with_notes) == (language, with_notes):
            return same
    row = AskedPackage.objects.create(asked_by=by, asked_at=now, **told)
    ring(row.pk)
    return row


def ring(package_id: int) -> None:
    """Ask a worker to pack what a row asks for, once it is committed."""
    transaction.on_commit(lambda: _send_message(package_id), robust=True)


def _send_message(package_id: int) -> None:
    current_app.send_task("services.tasks.make_package", [package_id], retry=False)


def folder_of(row: AskedPackage) -> Path:
    """Return where the papers of a package lie, and in the end the package."""
    return Path(settings.DATA) / "packages" / str(row.pk)


def file_of(row: AskedPackage) -> Path:
    """Return where the package lies once it is done."""
    return folder_of(row) / FILE


def make_package(package_id: int, *, now: datetime | None = None) -> bool:
    """Pack what a row asks for, unless another does or it is done; say whether it was done now.

    Where the time of a task is over before all is drawn, another is rung for.
    """
    now = now or timezone.now()
    row = _claim(package_id, now)
    if row is None:
        return False
    folder_of(row).mkdir(parents=True, exist_ok=True, mode=0o700)
    wanted = _wanted(row)
    row.parts = parts_of(wanted)
    until = monotonic() + MOST_SECONDS
    for drawn in draw_papers(wanted):
        is_new = drawn > row.drawn
        row.drawn = max(drawn, row.drawn)
        columns = {"drawn": row.drawn, "parts": row.parts, "leased_until": timezone.now() + LEASE}
        if not _change(row, **columns, **({"attempts": 0} if is_new else {})):
            return False
        row.attempts = 0 if is_new else row.attempts
        if is_new and monotonic() > until:
            _change(row, leased_until=None)
            ring(row.pk)
            return False
    return _finish(row, wanted)


def sweep_packages(now: datetime) -> int:
    """Ring for all that is due, give up what was tried enough, take away what is a day old."""
    due = AskedPackage.objects.due_at(now)
    due.filter(attempts__gte=MOST_ATTEMPTS).update(failed_at=now, leased_until=None)
    for row in AskedPackage.objects.filter(asked_at__lt=now - KEPT_FOR):
        shutil.rmtree(folder_of(row), ignore_errors=True)
        row.delete()
    waiting = list(due.values_list("pk", flat=True))
    for package_id in waiting:
        ring(package_id)
    return len(waiting)


def _claim(package_id: int, now: datetime) -> AskedPackage | None:
    due = AskedPackage.objects.due_at(now).filter(pk=package_id, attempts__lt=MOST_ATTEMPTS)
    taken = due.update(leased_until=now + LEASE, attempts=F("attempts") + 1)
    return AskedPackage.objects.select_related("asked_by").get(pk=package_id) if taken else None


def _wanted(row: AskedPackage) -> Wanted:
    return Wanted(
        numbers=row.numbers,
        language=row.language,
        now=row.asked_at,
        with_notes=row.with_notes,
        by=row.asked_by,
        drawn=folder_of(row),
    )


def _finish(row: AskedPackage, wanted: Wanted) -> bool:
    """Put the package together and take the single papers away; say whether it is ours still."""
    begun = file_of(row).with_suffix(".begun")
    with begun.open("wb") as written:
        written.writelines(package(wanted))
    begun.replace(file_of(row))
    for paper in folder_of(row).glob("*.pdf"):
        paper.unlink()
    return _change(row, done_at=timezone.now(), leased_until=None)


def _change(row: AskedPackage, **columns: object) -> bool:
    """Change the row only while this attempt still holds it; say whether it did."""
    held = AskedPackage.objects.filter(pk=row.pk, attempts=row.attempts, done_at__isnull=True)
    return bool(held.update(**columns))
