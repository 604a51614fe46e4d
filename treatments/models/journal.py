"""The journal: each record, hold and notice once more, in an order that nobody can change unseen.

The format is told in DEVELOPERS.md, "The journal".
"""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
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


class Disposal(AppendOnly):
    """That a record was disposed of after its time; without one the database changes no record."""

    record = models.OneToOneField(
        "treatments.ApplicationRecord",
        models.PROTECT,
        related_name="disposed",
        verbose_name=_("application record"),
        editable=False,
    )
    entry_id = models.UUIDField(_("entry"), unique=True, editable=False)
    keep_until = models.DateField(_("kept until"), editable=False)
    disposed_on = models.DateField(_("disposed of"), editable=False)
    disposed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="disposals",
        verbose_name=_("by"),
        editable=False,
    )

    class Meta:
        ordering = ["record"]
        verbose_name = _("disposal")
        verbose_name_plural = _("disposals")
        constraints = [
            models.CheckConstraint(
                name="disposal_after_its_time",
                condition=Q(disposed_on__gt=F("keep_until")),
                violation_error_message=_("A record is disposed of after its time."),
            ),
        ]

    def __str__(self):
        return f"{self.record_id}: {self.disposed_on}"


class EntryDisposal(AppendOnly):
    """That a thing which is no record, such as a hold or a notice, was disposed of after its time.

    Without one the database takes the body of no such entry.
    """

    noun = models.CharField(_("of what"), max_length=20, editable=False)
    number = models.PositiveBigIntegerField(_("number"), editable=False)
    entry_id = models.UUIDField(_("entry"), unique=True, editable=False)
    keep_until = models.DateField(_("kept until"), editable=False)
    disposed_on = models.DateField(_("disposed of"), editable=False)
    disposed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="entry_disposals",
        verbose_name=_("by"),
        editable=False,
    )

    class Meta:
        ordering = ["noun", "number"]
        verbose_name = _("disposal of a hold or notice")
        verbose_name_plural = _("disposals of holds and notices")
        constraints = [
            models.UniqueConstraint("noun", "number", name="entry_disposal_once"),
            models.CheckConstraint(
                name="entry_disposal_after_its_time",
                condition=Q(disposed_on__gt=F("keep_until")),
                violation_error_message=_("A hold or notice is disposed of after its time."),
            ),
        ]

    def __str__(self):
        return f"{self.noun} {self.number}: {self.disposed_on}"
