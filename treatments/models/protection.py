"""What protects the people who apply: equipment handed out, and fit tests of respirators."""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from treatments.models.applicators import Applicator, a_year_later


class ProtectionIssued(models.Model):
    """A piece of protective equipment that was handed to somebody, until it comes back."""

    applicator = models.ForeignKey(
        Applicator, models.PROTECT, related_name="protection", verbose_name=_("applicator")
    )
    item = models.CharField(_("what"), max_length=120)
    size = models.CharField(_("size"), max_length=20, blank=True)
    pieces = models.PositiveSmallIntegerField(_("pieces"), default=1)
    issued_on = models.DateField(_("handed out"))
    replace_by = models.DateField(
        _("to be replaced by"),
        null=True,
        blank=True,
        help_text=_("As its maker or your own rule says: cartridges, gloves."),
    )
    returned_on = models.DateField(_("came back"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="protection_issued",
        verbose_name=_("entered by"),
        editable=False,
    )

    class Meta:
        ordering = ["-issued_on", "-pk"]
        verbose_name = _("protective equipment handed out")
        verbose_name_plural = _("protective equipment handed out")
        constraints = [
            models.CheckConstraint(
                name="protection_comes_back_after_it_went",
                condition=Q(returned_on__isnull=True) | Q(returned_on__gte=F("issued_on")),
                violation_error_message=_("It came back before it was handed out."),
            ),
            models.CheckConstraint(
                name="protection_is_something",
                condition=Q(pieces__gte=1),
                violation_error_message=_("Hand out one piece at least."),
            ),
        ]

    def __str__(self):
        return f"{self.applicator}: {self.item}"


class FitTest(models.Model):
    """A fit test of a respirator on a person, good for a year [29CFR1910-134]."""

    class Way(models.TextChoices):
        """How the fit was tried [29CFR1910-134]."""

        QUALITATIVE = "qualitative", _("qualitative: by taste or smell")
        QUANTITATIVE = "quantitative", _("quantitative: by an instrument")

    applicator = models.ForeignKey(
        Applicator, models.PROTECT, related_name="fit_tests", verbose_name=_("applicator")
    )
    respirator = models.CharField(
        _("respirator"),
        max_length=120,
        help_text=_("Kind of facepiece, its size and approval number."),
    )
    tested_on = models.DateField(_("tested"))
    way = models.CharField(_("how"), max_length=12, choices=Way.choices)
    passed = models.BooleanField(_("it fits"))
    tester = models.CharField(_("tested by"), max_length=120, blank=True)
    cleared_on = models.DateField(
        _("medical clearance of"),
        null=True,
        blank=True,
        help_text=_("Only the day of the clearance; the evaluation itself stays with the doctor."),
    )
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="fit_tests_entered",
        verbose_name=_("entered by"),
        editable=False,
    )

    class Meta:
        ordering = ["-tested_on", "-pk"]
        verbose_name = _("fit test")
        verbose_name_plural = _("fit tests")

    def __str__(self):
        return f"{self.applicator}: {self.respirator}, {self.tested_on}"

    def holds_until(self) -> date | None:
        """Return the last day on which the test holds, or None where the respirator did not fit."""
        return a_year_later(self.tested_on) if self.passed else None
