"""Checkpoints of this book's journal: made when it grew, signed where there is a key."""

from datetime import datetime

from django.conf import settings
from django.core import checks
from django.db import transaction

from treatments import chain
from treatments.models import Checkpoint
from treatments.rules import checkpoints
from treatments.rules.checkpoints import Key, NoCheckpoint, check_signature, seed_of, signatures_of


@transaction.atomic
def make_checkpoint(*, now: datetime) -> Checkpoint | None:
    """Keep a checkpoint of the journal as it stands; None where it did not grow since the last."""
    chain.lock_head()
    head = chain.head()
    if head is None or Checkpoint.objects.filter(size=head.size).exists():
        return None
    row = Checkpoint(size=head.size, root=head.root.hex(), text=signed(head), made_at=now)
    row.full_clean()
    row.save()
    return row


def newest_checkpoint() -> str:
    """Return the text of the last checkpoint that was kept, "" where there is none."""
    return Checkpoint.objects.order_by("-size").values_list("text", flat=True).first() or ""


def signed(head: checkpoints.Checkpoint) -> str:
    """Return the text of a checkpoint, signed where this book has a key and can sign."""
    key = own_key(head.origin)
    return key.sign(head.text()) if key else head.text()


def own_key(origin: str) -> Key | None:
    """Return the key of this book's journal, None where there is none or signing is impossible."""
    if not settings.JOURNAL_KEY or not checkpoints.CAN_SIGN:
        return None
    return Key(origin, seed_of(settings.JOURNAL_KEY))


def wrong_signature(text: str, origin: str) -> str:
    """Return what is wrong with the signature of a checkpoint, "" where nothing is or can be."""
    key = own_key(origin)
    try:
        if key is not None and signatures_of(text):
            check_signature(text, key.name, key.public())
    except NoCheckpoint as error:
        return str(error)
    return ""


@checks.register
def check_journal_key(app_configs=None, **options) -> list[checks.CheckMessage]:
    """Refuse a key that is none, and warn of one that cannot be used."""
    if not settings.JOURNAL_KEY:
        return []
    try:
        seed_of(settings.JOURNAL_KEY)
    except NoCheckpoint as error:
        return [checks.Error(f"DUSKBOOK_JOURNAL_KEY: {error}", id="treatments.E002")]
    if checkpoints.CAN_SIGN:
        return []
    return [
        checks.Warning(
            "DUSKBOOK_JOURNAL_KEY is set, but checkpoints stay unsigned.",
            hint="Install the package cryptography: pip install 'duskbook[signing]'.",
            id="treatments.W002",
        )
    ]
