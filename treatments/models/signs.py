"""Signs: compared with the code before they were printed, and taken down after their time."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly


class SignConfirmed(models.Model):
    """Who compared a sign with the code, and when; it counts for that sign alone."""

    jurisdiction = models.CharField(_("jurisdiction"), max_length=8)
    fingerprint = models.CharField(
        _("fingerprint"), max_length=64, help_text=_("SHA-256 of the sign, in hex.")
    )
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="signs_confirmed",
        verbose_name=_("confirmed by"),
    )
    confirmed_at = models.DateTimeField(_("confirmed"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["jurisdiction", "pk"]
        verbose_name = _("confirmed sign")
        verbose_name_plural = _("confirmed signs")
        constraints = [
            models.UniqueConstraint(
                "jurisdiction", "fingerprint", name="sign_confirmed_once_a_jurisdiction_and_design"
            ),
        ]

    def __str__(self):
        return self.jurisdiction


class OwnSign(AppendOnly):
    """A sign as the owner took it from the code, where the book's table does not hold all of it.

    The newest of a jurisdiction counts, as long as the table says what it said then.
    """

    jurisdiction = models.CharField(_("jurisdiction"), max_length=8)
    of_design = models.CharField(
        _("fingerprint"), max_length=64, help_text=_("SHA-256 of what the table had, in hex.")
    )
    width_in = models.DecimalField(_("width (in)"), max_digits=5, decimal_places=2)
    height_in = models.DecimalField(_("height (in)"), max_digits=5, decimal_places=2)
    background = models.CharField(_("background"), max_length=20)
    lettering = models.CharField(_("lettering"), max_length=20)
    parts = models.JSONField(_("front"), help_text=_("From top to bottom."))
    back = models.JSONField(_("back"), default=list, blank=True)
    drawing = models.TextField(_("drawing"), blank=True, help_text=_("A PNG in base64."))
    citation = models.CharField(
        _("where the code has it"), max_length=200, help_text=_("Rule, section and figure.")
    )
    compared_on = models.DateField(_("compared on"))
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="own_signs",
        verbose_name=_("entered by"),
    )
    entered_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["jurisdiction", "-pk"]
        verbose_name = _("own sign")
        verbose_name_plural = _("own signs")

    def __str__(self):
        return self.jurisdiction


class SignTakenDown(AppendOnly):
    """Who took down the sign that was put up at a property at a moment, and when."""

    property = models.ForeignKey(
        "clients.Property", models.PROTECT, related_name="signs_down", verbose_name=_("property")
    )
    posted_at = models.DateTimeField(_("put up"))
    taken_down_at = models.DateTimeField(_("taken down"))
    taken_down_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="signs_taken_down",
        verbose_name=_("taken down by"),
    )

    class Meta:
        ordering = ["-taken_down_at", "pk"]
        verbose_name = _("sign taken down")
        verbose_name_plural = _("signs taken down")
        constraints = [
            models.UniqueConstraint("property", "posted_at", name="sign_taken_down_once"),
        ]

    def __str__(self):
        return f"{self.property}, {self.posted_at:%Y-%m-%d %H:%M}"
