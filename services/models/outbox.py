"""What must still reach the outside, as rows; and the links that open a client's page."""

import hashlib

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class OutboxQuerySet(models.QuerySet):
    """Ways to pick what is to be sent."""

    def due_at(self, moment):
        """Pick what is to be done now and nobody else has in hand."""
        return self.filter(
            done_at__isnull=True, failed_at__isnull=True, not_before__lte=moment
        ).filter(Q(leased_until__isnull=True) | Q(leased_until__lt=moment))


class Outbox(models.Model):
    """A thing to be done outside the database, written together with its cause.

    The row is the truth; a message of the broker carries only its id and may be lost.
    """

    class Kind(models.TextChoices):
        """What is to be done."""

        CLIENT_SUMMARY = "client summary", _("mail a summary to the client")
        CREW_SHEET = "crew sheet", _("mail the visit sheets to the crew")
        NOTICE = "notice", _("mail a notice before a visit")
        ESTIMATE = "estimate", _("mail an estimate to the client")
        CHECKPOINT = "checkpoint", _("mail a checkpoint of the journal to the owner")
        RECORD_COPY = "record copy", _("mail a copy of a record to the client")
        DIGEST = "digest", _("mail the owner what is late, due or short")
        HOOK = "hook", _("call another program")
        DAY_ANSWER = "day answer", _("mail a client what became of the day asked for")

    kind = models.CharField(_("kind"), max_length=16, choices=Kind.choices)
    arguments = models.JSONField(_("arguments"), default=dict)
    dedupe_key = models.CharField(_("once a"), max_length=200, unique=True)
    written_at = models.DateTimeField(_("written"), auto_now_add=True)
    not_before = models.DateTimeField(_("not before"))
    attempts = models.PositiveSmallIntegerField(_("attempts"), default=0)
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    sending_since = models.DateTimeField(_("sending since"), null=True, blank=True)
    last_error = models.TextField(_("last error"), blank=True)
    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    failed_at = models.DateTimeField(_("failed"), null=True, blank=True)

    objects = OutboxQuerySet.as_manager()

    class Meta:
        ordering = ["not_before", "pk"]
        verbose_name = _("outgoing item")
        verbose_name_plural = _("outgoing items")
        indexes = [
            models.Index(
                fields=["not_before"], name="outbox_due", condition=Q(done_at__isnull=True)
            ),
        ]
        constraints = [
            models.CheckConstraint(
                name="outbox_done_or_failed_not_both",
                condition=Q(done_at__isnull=True) | Q(failed_at__isnull=True),
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} ({self.dedupe_key})"


class ClientLink(models.Model):
    """A link that opens one client's pages without an account; only its digest is kept."""

    client = models.ForeignKey(
        "clients.Client", models.CASCADE, related_name="links", verbose_name=_("client")
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(_("made"), auto_now_add=True)
    expires_at = models.DateTimeField(_("ends"))
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)

    class Meta:
        ordering = ["client", "-made_at"]
        verbose_name = _("client's link")
        verbose_name_plural = _("clients' links")

    def __str__(self):
        return f"{self.client}, {self.expires_at:%Y-%m-%d}"

    @staticmethod
    def digest_of(token: str) -> str:
        """Return what is kept of a token: its SHA-256 in hex."""
        return hashlib.sha256(token.encode()).hexdigest()

    def is_open_at(self, moment) -> bool:
        """Say whether the link still opens at a moment."""
        return self.revoked_at is None and moment < self.expires_at
