"""The journal: each record, hold and notice once more, in an order that nobody can change unseen.

The format is told in DEVELOPERS.md, "The journal".
"""

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly


class JournalEntry(AppendOnly):
    """One entry; `treatments.chain` appends it in the transaction of what it keeps."""

    seq = models.PositiveBigIntegerField(_("place"), unique=True, editable=False)
    entry_id = models.UUIDField(_("entry"), unique=True, editable=False)
    envelope = models.TextField(_("envelope"), editable=False)
    leaf_hash = models.CharField(_("hash"), max_length=64, editable=False)
    subtree_hash = models.CharField(_("hash of what ends here"), max_length=64, editable=False)
    # Empty is not the same as none: a body may one day be disposed of, its digest stays.
    body = models.TextField(_("body"), null=True, editable=False)  # noqa: DJ001
    body_sha256 = models.CharField(_("digest of the body"), max_length=64, editable=False)

    class Meta:
        ordering = ["seq"]
        verbose_name = _("journal entry")
        verbose_name_plural = _("journal entries")

    def __str__(self):
        return f"{self.seq}: {self.leaf_hash[:16]}"


class Checkpoint(AppendOnly):
    """Size and root of the journal at a moment, as a text that others can keep."""

    size = models.PositiveBigIntegerField(_("entries"), unique=True, editable=False)
    root = models.CharField(_("root"), max_length=64, editable=False)
    text = models.TextField(_("checkpoint"), editable=False)
    made_at = models.DateTimeField(_("made"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["size"]
        verbose_name = _("checkpoint")
        verbose_name_plural = _("checkpoints")

    def __str__(self):
        return f"{self.size}: {self.root[:16]}"
