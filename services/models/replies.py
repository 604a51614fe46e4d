"""Replies to what programs sent, kept so that a repeat gets the same answer."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Reply(models.Model):
    """What was answered to one request, by the key that its sender gave it."""

    sender = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="replies", verbose_name=_("sender")
    )
    key = models.CharField(_("key"), max_length=255)
    fingerprint = models.CharField(
        _("fingerprint"), max_length=64, help_text=_("SHA-256 of what was asked, in hex.")
    )
    status = models.PositiveSmallIntegerField(_("status"), default=0)
    body = models.JSONField(_("body"), null=True)
    answered_at = models.DateTimeField(_("answered"), auto_now_add=True)

    class Meta:
        ordering = ["-answered_at", "pk"]
        verbose_name = _("reply")
        verbose_name_plural = _("replies")
        constraints = [
            models.UniqueConstraint("sender", "key", name="reply_once_a_sender_and_key"),
        ]

    def __str__(self):
        return f"{self.key}: {self.status}"
