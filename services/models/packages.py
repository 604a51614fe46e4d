"""Packages of many records that are made while nobody waits."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class AskedPackageQuerySet(models.QuerySet):
    """Ways to pick what is still to be packed."""

    def due_at(self, moment):
        """Pick what is to be packed now and nobody else has in hand."""
        return self.filter(done_at__isnull=True, failed_at__isnull=True).filter(
            Q(leased_until__isnull=True) | Q(leased_until__lt=moment)
        )


class AskedPackage(models.Model):
    """Which records somebody asked to have packed, and how far it is; its file lies beside.

    The row is the truth; a message of the broker carries only its id and may be lost.  Row and
    file go after a day.
    """

    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.CASCADE,
        related_name="packages",
        verbose_name=_("asked by"),
    )
    asked_at = models.DateTimeField(_("asked"))
    numbers = models.JSONField(_("records"))
    language = models.CharField(_("language"), max_length=8)
    with_notes = models.BooleanField(_("with notes"), default=False)
    parts = models.PositiveIntegerField(_("parts"), default=0)
    drawn = models.PositiveIntegerField(_("drawn"), default=0)
    attempts = models.PositiveSmallIntegerField(_("attempts"), default=0)
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    failed_at = models.DateTimeField(_("failed"), null=True, blank=True)

    objects = AskedPackageQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        verbose_name = _("asked package")
        verbose_name_plural = _("asked packages")
        constraints = [
            models.CheckConstraint(
                name="package_done_or_failed_not_both",
                condition=Q(done_at__isnull=True) | Q(failed_at__isnull=True),
            ),
        ]

    def __str__(self):
        return f"{self.asked_at:%Y-%m-%d %H:%M}"

    def is_open(self) -> bool:
        """Say whether it is still being packed."""
        return self.done_at is None and self.failed_at is None

    def name(self) -> str:
        """Return how its file is called where it is taken along."""
        return f"records-{self.numbers[0]}-to-{self.numbers[-1]}.zip"
