"""Applicators and their certificates: who may apply, where, and until when."""

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from treatments.models.fields import CodeListField


class Applicator(models.Model):
    """A person who applies pesticides, certified or under a certified person's supervision."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="applicator",
        verbose_name=_("sign-in"),
    )
    name = models.CharField(_("name"), max_length=200)
    phone = models.CharField(_("telephone"), max_length=40, blank=True)
    supervisor = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="supervises",
        verbose_name=_("supervisor"),
        help_text=_("The certified applicator who answers for an uncertified one."),
    )
    trained_on = models.DateField(
        _("trained"), null=True, blank=True, help_text=_("Training of an uncertified applicator.")
    )
    trainer = models.CharField(_("trainer"), max_length=200, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name = _("applicator")
        verbose_name_plural = _("applicators")
        constraints = [
            models.CheckConstraint(
                name="applicator_is_not_his_own_supervisor",
                condition=Q(supervisor__isnull=True) | ~Q(supervisor=models.F("pk")),
                violation_error_message=_("Nobody supervises himself."),
            ),
        ]

    def __str__(self):
        return self.name


class CertificateQuerySet(models.QuerySet):
    """Ways to pick certificates that read as the trade says them."""

    def valid_on(self, day):
        """Pick the certificates that hold on a date."""
        return self.filter(expires_on__gte=day).exclude(issued_on__gt=day)


class Certificate(models.Model):
    """The licence of an applicator in a jurisdiction, with its categories and expiry."""

    applicator = models.ForeignKey(
        Applicator, models.PROTECT, related_name="certificates", verbose_name=_("applicator")
    )
    number = models.CharField(_("number"), max_length=40)
    jurisdiction = models.CharField(
        _("jurisdiction"),
        max_length=6,
        validators=[RegexValidator(r"^[A-Z]{2}-[A-Z0-9]{1,3}\Z")],
        help_text=_("ISO 3166-2, such as US-NJ."),
    )
    categories = CodeListField(_("categories"))
    issued_on = models.DateField(_("issued"), null=True, blank=True)
    expires_on = models.DateField(_("expires"))

    objects = CertificateQuerySet.as_manager()

    class Meta:
        ordering = ["applicator", "jurisdiction", "-expires_on"]
        verbose_name = _("certificate")
        verbose_name_plural = _("certificates")
        constraints = [
            models.UniqueConstraint(
                "jurisdiction", "number", "expires_on", name="certificate_once_a_jurisdiction"
            ),
            models.CheckConstraint(
                name="certificate_expires_after_issue",
                condition=Q(issued_on__isnull=True) | Q(expires_on__gt=models.F("issued_on")),
                violation_error_message=_("A certificate expires after it was issued."),
            ),
        ]

    def __str__(self):
        return f"{self.number} ({self.jurisdiction})"
