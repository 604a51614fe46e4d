"""What the business charges, what its hours and miles cost, and the taxes its owner entered."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.models.property import STATE_CODE
from services.rules.charging import FallsOn, PricedBy

NOT_NEGATIVE = MinValueValidator(Decimal(0))


def entered_by(related_name):
    """Return the column for who entered a row."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        editable=False,
        related_name=related_name,
        verbose_name=_("entered by"),
    )


class PriceRule(models.Model):
    """A price from a day on, for all or for a client, a property, a rotation.

    It is not edited: a newer row of the same reach follows it, or its last day is set.
    """

    class By(models.TextChoices):
        """What a price is for."""

        VISIT = PricedBy.VISIT.value, _("a visit")
        HOUR = PricedBy.HOUR.value, _("an hour of each person's work")
        AREA = PricedBy.AREA.value, _("1,000 square feet treated")
        PRODUCT = PricedBy.PRODUCT.value, _("product at what it cost, with a mark-up")

    by = models.CharField(_("price for"), max_length=7, choices=By.choices)
    amount = models.DecimalField(
        _("amount"),
        max_digits=9,
        decimal_places=2,
        validators=[NOT_NEGATIVE],
        help_text=_("In US dollars; for product the mark-up in percent."),
    )
    client = models.ForeignKey(
        "clients.Client",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="price_rules",
        verbose_name=_("only for the client"),
    )
    property = models.ForeignKey(
        "clients.Property",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="price_rules",
        verbose_name=_("only for the property"),
    )
    rotation = models.ForeignKey(
        "treatments.Rotation",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="price_rules",
        verbose_name=_("only for the rotation"),
    )
    from_day = models.DateField(_("from"))
    until_day = models.DateField(_("until"), null=True, blank=True)
    made_by = entered_by("price_rules")
    made_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["-from_day", "-pk"]
        verbose_name = _("price rule")
        verbose_name_plural = _("price rules")
        constraints = [
            models.CheckConstraint(
                name="price_rule_for_a_client_or_a_property",
                condition=Q(client__isnull=True) | Q(property__isnull=True),
                violation_error_message=_("Choose the client or the property, not both."),
            ),
            models.CheckConstraint(
                name="price_rule_ends_after_it_begins",
                condition=Q(until_day__isnull=True) | Q(until_day__gte=models.F("from_day")),
                violation_error_message=_("A price holds for one day at least."),
            ),
            models.UniqueConstraint(
                Coalesce("client", 0),
                Coalesce("property", 0),
                Coalesce("rotation", 0),
                "from_day",
                name="price_rule_once_a_reach_and_day",
                violation_error_message=_("There is a price of the same reach from this day on."),
            ),
        ]

    def __str__(self):
        return f"{self.get_by_display()}: {self.amount}"


class CostRate(models.Model):
    """What an hour of a person's work, or a mile on the road, costs the business from a day on."""

    class Of(models.TextChoices):
        """What is paid for."""

        HOUR = "hour", _("an hour of one person's work")
        MILE = "mile", _("a mile on the road")

    of = models.CharField(_("cost of"), max_length=4, choices=Of.choices)
    amount = models.DecimalField(
        _("amount (USD)"), max_digits=8, decimal_places=4, validators=[NOT_NEGATIVE]
    )
    from_day = models.DateField(_("from"))
    made_by = entered_by("cost_rates")
    made_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["of", "-from_day", "-pk"]
        verbose_name = _("cost of hours and miles")
        verbose_name_plural = _("costs of hours and miles")
        constraints = [
            models.UniqueConstraint(
                "of",
                "from_day",
                name="cost_rate_once_a_day",
                violation_error_message=_("This cost was entered from this day on already."),
            ),
        ]

    def __str__(self):
        return f"{self.get_of_display()}: {self.amount}"


class TaxRate(models.Model):
    """A tax that the owner entered: where, how much, on what, from a day on.

    None is built in.  A newer row of the same name and place follows an older one; 0 ends it.
    """

    class On(models.TextChoices):
        """What a tax falls on."""

        SERVICE = FallsOn.SERVICE.value, _("work")
        PRODUCT = FallsOn.PRODUCT.value, _("product")
        BOTH = FallsOn.BOTH.value, _("work and product")

    name = models.CharField(
        _("name"), max_length=60, help_text=_("As it is to stand on the statement.")
    )
    jurisdiction = models.CharField(
        _("state"), max_length=6, validators=[STATE_CODE], help_text=_("Such as US-PA.")
    )
    county = models.CharField(
        _("county"), max_length=100, blank=True, help_text=_("Left empty for all of the state.")
    )
    percent = models.DecimalField(
        _("percent"),
        max_digits=7,
        decimal_places=4,
        validators=[NOT_NEGATIVE, MaxValueValidator(Decimal(100))],
    )
    falls_on = models.CharField(_("falls on"), max_length=7, choices=On.choices)
    from_day = models.DateField(_("from"))
    made_by = entered_by("tax_rates")
    made_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["jurisdiction", "county", "name", "-from_day", "-pk"]
        verbose_name = _("tax rate")
        verbose_name_plural = _("tax rates")
        constraints = [
            models.UniqueConstraint(
                "jurisdiction",
                "county",
                "name",
                "from_day",
                name="tax_rate_once_a_name_and_day",
                violation_error_message=_("This tax was entered from this day on already."),
            ),
        ]

    def __str__(self):
        return f"{self.name}, {self.jurisdiction}: {self.percent}%"
