"""That somebody compared a sign with the code of its jurisdiction before it was printed."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


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
