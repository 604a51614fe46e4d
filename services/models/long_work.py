"""Work that takes long: who asked for it, how far it is, and who has it in hand."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class LongWorkQuerySet(models.QuerySet):
    """Ways to pick what is still to be done."""

    def due_at(self, moment):
        """Pick what is to be done now and nobody else has in hand."""
        waiting = self.filter(is_waiting=True)
        return waiting.filter(Q(leased_until__isnull=True) | Q(leased_until__lt=moment))


class LongWork(models.Model):
    """A row that asks for work.  The row is the truth; a broker's message carries only its id.

    A worker holds the row under a lease that each step renews: when it is killed the lease runs
    out, and the next one begins the work again.
    """

    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("asked by"),
    )
    asked_at = models.DateTimeField(_("asked"))
    language = models.CharField(
        _("language"), max_length=2, choices=settings.LANGUAGES, default="en"
    )
    is_waiting = models.BooleanField(_("waits to be done"), default=True)
    step = models.PositiveIntegerField(_("step"), default=0)
    steps = models.PositiveIntegerField(_("steps"), default=0)
    attempts = models.PositiveSmallIntegerField(_("attempts"), default=0)
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    failed_at = models.DateTimeField(_("failed"), null=True, blank=True)
    last_error = models.TextField(_("last error"), blank=True)

    objects = LongWorkQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["-asked_at", "-pk"]
