"""Signed records: who that holds a certificate signed for which record, and when."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly


class RecordSigned(AppendOnly):
    """A record was read and signed; what amends it is another record, and is signed anew.

    Name and number are copied, so that a later change of the person leaves them as they were.
    """

    record = models.OneToOneField(
        "treatments.ApplicationRecord",
        models.PROTECT,
        related_name="signed",
        verbose_name=_("application record"),
    )
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="records_signed",
        verbose_name=_("signed by"),
    )
    signed_at = models.DateTimeField(_("signed"))
    signer_name = models.CharField(_("name"), max_length=200)
    certificate_number = models.CharField(_("certificate number"), max_length=40)

    class Meta:
        ordering = ["-signed_at", "-pk"]
        verbose_name = _("signed record")
        verbose_name_plural = _("signed records")

    def __str__(self):
        return f"{self.signer_name}, {self.certificate_number}"
