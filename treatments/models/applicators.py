"""Applicators and their certificates: who may apply, where, and until when."""

from datetime import date

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
    training = models.CharField(
        _("kind of training"),
        max_length=200,
        blank=True,
        help_text=_("Its title, as the proof of training names it."),
    )
    training_expires_on = models.DateField(
        _("training holds until"),
        null=True,
        blank=True,
        help_text=_("Empty: twelve months from the day of the training."),
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
            models.CheckConstraint(
                name="applicator_training_holds_after_its_day",
                condition=Q(training_expires_on__isnull=True)
                | Q(trained_on__isnull=False, training_expires_on__gt=models.F("trained_on")),
                violation_error_message=_("Training holds until a day after it was given."),
            ),
        ]

    def __str__(self):
        return self.name

    def trained_until(self) -> date | None:
        """Return the last day of the training: what it names, else twelve months [40CFR171-201]."""
        if self.training_expires_on is not None or self.trained_on is None:
            return self.training_expires_on
        return a_year_later(self.trained_on)


def a_year_later(day: date) -> date:
    """Return the last day of the twelve months that begin on a day."""
    if (day.month, day.day) == (2, 29):
        return date(day.year + 1, 2, 28)
    return day.replace(year=day.year + 1)


class CertificateQuerySet(models.QuerySet):
    """Ways to pick certificates that read as the trade says them."""

    def valid_on(self, day):
        """Pick the certificates that hold on a date and are not suspended then."""
        held = self.filter(expires_on__gte=day).exclude(issued_on__gt=day)
        suspended = Q(suspended_from__lte=day) & (
            Q(reinstated_on__isnull=True) | Q(reinstated_on__gt=day)
        )
        return held.exclude(suspended)


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
    is_limited = models.BooleanField(
        _("limited certificate"),
        default=False,
        help_text=_("Such as Florida's for landscape maintenance; its limits are checked."),
    )
    bars_restricted_use = models.BooleanField(
        _("not for products of restricted use"), default=False
    )
    own_property_only = models.BooleanField(
        _("only on property that its holder owns or rents"), default=False
    )
    suspended_from = models.DateField(_("suspended from"), null=True, blank=True)
    reinstated_on = models.DateField(_("in force again from"), null=True, blank=True)

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
            models.CheckConstraint(
                name="certificate_reinstated_after_suspension",
                condition=Q(reinstated_on__isnull=True)
                | Q(suspended_from__isnull=False, reinstated_on__gt=models.F("suspended_from")),
                violation_error_message=_("It is in force again after it was suspended."),
            ),
        ]

    def __str__(self):
        return f"{self.number} ({self.jurisdiction})"

    def holds_on(self, day: date) -> bool:
        """Say whether it holds on a day: issued, not expired, not suspended."""
        if self.expires_on < day or (self.issued_on is not None and self.issued_on > day):
            return False
        return not self.is_suspended_on(day)

    def is_suspended_on(self, day: date) -> bool:
        """Say whether it is suspended on a day."""
        if self.suspended_from is None or self.suspended_from > day:
            return False
        return self.reinstated_on is None or self.reinstated_on > day
