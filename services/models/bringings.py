"""A file that somebody brings: what was found in it, and what became of it."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from services.models.long_work import LongWork


class Bringing(LongWork):
    """A file with clients, products or the like: looked at first, kept once it is confirmed.

    The content goes once the file is kept, given up or a day old; what it made is remembered as
    long as it may be undone, and after that by whom and when.
    """

    kind = models.CharField(_("kind"), max_length=24)
    file_name = models.CharField(_("file"), max_length=200)
    sha256 = models.CharField(_("SHA-256"), max_length=64, editable=False)
    content = models.BinaryField(_("content"), null=True)
    encoding = models.CharField(_("encoding"), max_length=12, blank=True)
    separator = models.CharField(_("separator"), max_length=9, blank=True)
    found = models.JSONField(_("what was found in it"), null=True, blank=True)
    looked_at = models.DateTimeField(_("looked at"), null=True, blank=True)
    confirmed_at = models.DateTimeField(_("confirmed"), null=True, blank=True)
    kept_at = models.DateTimeField(_("kept"), null=True, blank=True)
    made = models.JSONField(_("what it made"), default=dict, blank=True)
    undone_at = models.DateTimeField(_("undone"), null=True, blank=True)
    given_up_at = models.DateTimeField(_("given up"), null=True, blank=True)

    class Meta(LongWork.Meta):
        verbose_name = _("file brought")
        verbose_name_plural = _("files brought")
        constraints = [
            models.CheckConstraint(
                name="bringing_kept_is_confirmed",
                condition=Q(kept_at__isnull=True) | Q(confirmed_at__isnull=False),
            ),
            models.CheckConstraint(
                name="bringing_undone_was_kept",
                condition=Q(undone_at__isnull=True) | Q(kept_at__isnull=False),
            ),
        ]

    def __str__(self):
        return f"{self.file_name} ({self.kind})"

    def is_to_be_confirmed(self) -> bool:
        """Say whether it was looked at, nothing stands against it, and it brings something."""
        is_open = not (self.is_waiting or self.kept_at or self.given_up_at or self.failed_at)
        found = self.found or {}
        return bool(is_open and found and not found["faults_in_all"] and found["new"])
