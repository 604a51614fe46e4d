"""Works on a file: looks at it, or keeps what was confirmed, whole or not at all.

The look writes nothing and holds no lock.  The keeping is one transaction: within it the file is
read once more against the book as it is then, and where that comes to anything else than what was
confirmed, nothing is written and the file is looked at anew.
"""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from services import long_work
from services.bringing.asking import TASK, forget_old
from services.bringing.columns import Kind
from services.bringing.kinds import KINDS
from services.bringing.looking import Look
from services.models import Bringing


class BookChanged(RuntimeError):
    """The book is another one than when the file was looked at."""


def run_bringing(bringing_id: int, *, now: datetime | None = None) -> bool:
    """Do what a file waits for, unless another does; say whether it was done now."""
    row = long_work.claim(Bringing, bringing_id, now=now or timezone.now())
    if row is None:
        return False
    with translation.override(row.language):
        try:
            if row.confirmed_at is None:
                _look(row)
            else:
                _keep(row)
        except long_work.TakenOver:
            return False
    return True


def sweep_bringings(now: datetime) -> int:
    """Ring for every file that waits, and forget those that nobody confirmed; return how many."""
    forget_old(now)
    return long_work.sweep(Bringing, TASK, now)


def kind_of(row: Bringing) -> Kind:
    """Return the kind of a file, ready for one look."""
    return KINDS[row.kind](by=row.asked_by, taken_from=row.file_name, now=timezone.now())


def _look(row: Bringing) -> None:
    def tell(done: int, of: int) -> None:
        long_work.step(row, done, of)

    found = _of(row, kind_of(row)).taken(tell)
    long_work.end(row, found=found.told(), looked_at=timezone.now())


def _keep(row: Bringing) -> None:
    try:
        with transaction.atomic():
            made = _kept(row)
            columns = {"kept_at": timezone.now(), "made": made, "content": None}
            long_work.end(row, **columns, last_error="")
    except ValidationError as refusal:
        long_work.fail(row, " ".join(refusal.messages))
    except (BookChanged, IntegrityError):
        said = _("The book changed since the file was looked at, and nothing was written.")
        long_work.wait_again(row, confirmed_at=None, looked_at=None, found=None, last_error=said)
        long_work.ring(TASK, row.pk)


def _kept(row: Bringing) -> dict[str, Any]:
    kind = kind_of(row)
    kind.is_checked = True  # the fields were checked in the look, and the content is the same
    found = _of(row, kind).taken()
    told = row.found or {}
    if found.faults or (len(found.things), found.known) != (told["new"], told["known"]):
        raise BookChanged
    return {"rows": _numbered(kind.keep_all(found.things, row.asked_by))}


def _numbered(made: list[Any]) -> list[tuple[str, list[int]]]:
    """Return the ids of what was made by model, in the order of their first making."""
    by_model: dict[str, list[int]] = {}
    for thing in made:
        by_model.setdefault(thing._meta.label_lower, []).append(thing.pk)
    return list(by_model.items())


def _of(row: Bringing, kind: Kind) -> Look:
    if row.content is None:
        raise DatabaseError("The content of the file is gone.")
    return Look(kind, bytes(row.content), row.encoding, row.separator)
