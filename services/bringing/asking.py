"""A file is sent, confirmed, or given up; each of them twice is as good as once."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from services.bringing.reading import MOST_BYTES
from services.long_work import ring, wait_again
from services.models import Bringing

AT_ONCE_BYTES = 24 * 1024  # below it a person may wait for the look; our own choice
KEPT_FOR = timedelta(days=1)  # how long the content of a file waits to be confirmed
TASK = "services.tasks.run_bringing"


@dataclass(frozen=True, slots=True)
class Sent:
    """A file as it came: its kind, name and content, and how it is to be read, "" to be told."""

    kind: str
    name: str
    content: bytes
    encoding: str = ""
    separator: str = ""


@transaction.atomic
def ask(sent: Sent, *, by: User | None, language: str, now: datetime) -> Bringing:
    """Have a file looked at; nothing is written but its own row."""
    if len(sent.content) > MOST_BYTES:
        raise ValidationError(_("The file is larger than 10 MB: send it in parts."), code="large")
    row = Bringing(
        kind=sent.kind,
        file_name=sent.name[-200:] or "?",
        sha256=sha256(sent.content).hexdigest(),
        content=sent.content,
        encoding=sent.encoding,
        separator=sent.separator,
        asked_by=by,
        asked_at=now,
        language=language,
    )
    row.full_clean()
    row.save()
    ring(TASK, row.pk)
    return row


def is_small(row: Bringing) -> bool:
    """Say whether a person may wait while the file is looked at."""
    return row.content is not None and len(row.content) <= AT_ONCE_BYTES


@transaction.atomic
def confirm(row: Bringing, *, now: datetime) -> bool:
    """Have what was found in a file kept; say whether it was confirmed now.

    Raise ValidationError where something stands against it.
    """
    row = Bringing.objects.select_for_update().get(pk=row.pk)
    if row.confirmed_at is not None:
        return False
    if not row.is_to_be_confirmed():
        raise ValidationError(_("There is nothing in the file that can be kept."), code="nothing")
    wait_again(row, confirmed_at=now, last_error="")
    ring(TASK, row.pk)
    return True


def give_up(row: Bringing, *, now: datetime) -> bool:
    """Forget a file that was not kept; say whether it was still there."""
    waiting = Bringing.objects.filter(
        pk=row.pk, kept_at__isnull=True, given_up_at__isnull=True, leased_until__isnull=True
    )
    return bool(waiting.update(given_up_at=now, content=None, is_waiting=False))


def forget_old(now: datetime) -> int:
    """Take the content of files that nobody confirmed within a day; return how many."""
    old = Bringing.objects.filter(asked_at__lt=now - KEPT_FOR, content__isnull=False)
    old = old.filter(kept_at__isnull=True, leased_until__isnull=True)
    return old.update(content=None, given_up_at=now, is_waiting=False)
