"""Corrections of kept records that wait for somebody's approval, and what was answered."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly, AppendOnlyQuerySet

models.TextField.register_lookup(Length)


class CorrectionQuerySet(AppendOnlyQuerySet):
    """Ways to pick corrections that read as the trade says them."""

    def waiting(self):
        """Pick what nobody has answered yet and still can be: its record stands."""
        return self.filter(answer__isnull=True, record__amended_by__isnull=True)


class Correction(AppendOnly):
    """That somebody asked to amend a record or to declare it void, with what and why."""

    record = models.ForeignKey(
        "treatments.ApplicationRecord",
        models.PROTECT,
        related_name="corrections",
        verbose_name=_("record"),
    )
    void = models.BooleanField(_("declare void"), default=False)
    changes = models.JSONField(_("changes"), default=dict, blank=True)
    reason = models.TextField(_("reason"), max_length=1000)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="corrections_asked",
        verbose_name=_("asked by"),
    )
    asked_at = models.DateTimeField(_("asked"), default=timezone.now, editable=False)
    event_id = models.UUIDField(_("event"), unique=True, null=True, blank=True, editable=False)

    objects = CorrectionQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        ordering = ["-asked_at", "-pk"]
        verbose_name = _("correction")
        verbose_name_plural = _("corrections")
        constraints = [
            models.CheckConstraint(
                name="correction_has_a_reason",
                condition=Q(reason__length__gte=10),
                violation_error_message=_("Give the reason in ten signs or more."),
            ),
        ]

    def __str__(self):
        return f"{self.record_id}: {self.reason}"


class CorrectionAnswer(AppendOnly):
    """Who agreed to a correction, or did not; the record that was kept by it."""

    correction = models.OneToOneField(
        Correction, models.PROTECT, related_name="answer", verbose_name=_("correction")
    )
    agreed = models.BooleanField(_("agreed"))
    note = models.CharField(_("note"), max_length=300, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="corrections_answered",
        verbose_name=_("answered by"),
    )
    answered_at = models.DateTimeField(_("answered"), default=timezone.now, editable=False)
    kept = models.OneToOneField(
        "treatments.ApplicationRecord",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="kept_by",
        verbose_name=_("record kept by it"),
    )

    class Meta:
        verbose_name = _("answer to a correction")
        verbose_name_plural = _("answers to corrections")
        constraints = [
            models.CheckConstraint(
                name="correction_agreed_keeps_a_record",
                condition=Q(agreed=True, kept__isnull=False) | Q(agreed=False, kept__isnull=True),
            ),
        ]

    def __str__(self):
        return f"{self.correction_id}: {self.agreed}"
