"""The rotation: the recipe of products for week 1 to n."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from treatments.models.products import Product, amount_field
from treatments.rules.units import Basis


class Rotation(models.Model):
    """Products that work differently, week by week, against one pest."""

    name = models.CharField(_("name"), max_length=200, unique=True)
    pest = models.ForeignKey(
        "treatments.Pest", models.PROTECT, related_name="rotations", verbose_name=_("pest")
    )
    plant_group = models.CharField(_("site on labels"), max_length=24)
    note = models.TextField(_("note"), max_length=2000, blank=True)
    composed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="rotations",
        verbose_name=_("composed by"),
    )
    composed_at = models.DateTimeField(_("composed"), default=timezone.now, editable=False)
    is_draft = models.BooleanField(
        _("draft"),
        default=False,
        editable=False,
        help_text=_("Kept by somebody without a certificate; no course goes by it yet."),
    )
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="rotations_approved",
        verbose_name=_("approved by"),
    )
    approved_at = models.DateTimeField(_("approved"), null=True, blank=True, editable=False)
    retired = models.BooleanField(_("no longer offered"), default=False)
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["name"]
        verbose_name = _("rotation")
        verbose_name_plural = _("rotations")

    def __str__(self):
        return self.name


class NothingToMix(ValueError):
    """The week has no product: it is a step without a spray."""


class RotationWeek(models.Model):
    """One week of a rotation: a product with its rate and purpose, or a step without a spray."""

    class Step(models.TextChoices):
        """What is done in the week."""

        SPRAY = "spray", _("spray")
        WASH = "wash", _("wash down with water")
        CLEAN = "clean", _("prune and clean up")
        RELEASE = "release", _("release beneficials")
        WATCH = "watch", _("count only")

    rotation = models.ForeignKey(Rotation, models.CASCADE, related_name="weeks")
    week = models.PositiveSmallIntegerField(
        _("week"), validators=[MinValueValidator(1), MaxValueValidator(26)]
    )
    step = models.CharField(_("step"), max_length=7, choices=Step.choices, default=Step.SPRAY)
    product = models.ForeignKey(
        "treatments.Product",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="rotation_weeks",
        verbose_name=_("product"),
    )
    rate = amount_field(_("rate"), null=True, blank=True)
    basis = models.CharField(
        _("basis"), max_length=16, blank=True, choices=[(b.value, b.value) for b in Basis]
    )
    adjuvant = models.ForeignKey(
        "treatments.Product",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="rotation_weeks_as_adjuvant",
        limit_choices_to={"kind": "adjuvant"},
        verbose_name=_("spreader-sticker"),
    )
    adjuvant_rate = amount_field(_("its rate (fl oz/gal)"), null=True, blank=True)
    purpose = models.CharField(_("purpose"), max_length=200, blank=True)
    at_dusk = models.BooleanField(_("at dusk"), default=False)
    minimum_days = models.PositiveSmallIntegerField(
        _("earliest, days after the visit before"), default=5
    )
    planned_days = models.PositiveSmallIntegerField(
        _("planned, days after the visit before"), default=7
    )
    maximum_days = models.PositiveSmallIntegerField(
        _("latest, days after the visit before"), default=9
    )

    class Meta:
        ordering = ["rotation", "week"]
        verbose_name = _("week of a rotation")
        verbose_name_plural = _("weeks of rotations")
        constraints = [
            models.UniqueConstraint("rotation", "week", name="rotation_week_once"),
            models.CheckConstraint(
                name="rotation_week_spray_has_product_and_rate",
                condition=Q(step="spray", product__isnull=False, rate__isnull=False, rate__gt=0)
                & ~Q(basis="")
                | ~Q(step="spray") & Q(product__isnull=True),
                violation_error_message=_(
                    "A spray has a product and a rate; other steps have none."
                ),
            ),
            models.CheckConstraint(
                name="rotation_week_days_in_order",
                condition=Q(minimum_days__gte=1)
                & Q(planned_days__gte=F("minimum_days"))
                & Q(maximum_days__gte=F("planned_days")),
                violation_error_message=_("Earliest, planned and latest day follow one another."),
            ),
            models.CheckConstraint(
                name="rotation_week_from_1_to_26", condition=Q(week__range=(1, 26))
            ),
        ]

    def __str__(self):
        return f"{self.rotation}, week {self.week}"

    def sprayed_product(self) -> Product:
        """Return the product of a spray; raise NothingToMix for a step without one."""
        if self.product is None:
            raise self._nothing_to_mix()
        return self.product

    def sprayed_rate(self) -> Decimal:
        """Return the rate of a spray; raise NothingToMix for a step without one."""
        if self.rate is None:
            raise self._nothing_to_mix()
        return self.rate

    def _nothing_to_mix(self) -> NothingToMix:
        return NothingToMix(gettext("Week %(week)s has no product to mix.") % {"week": self.week})


class AcceptedWarning(models.Model):
    """A warning that a person accepted with a reason when the rotation was kept."""

    rotation = models.ForeignKey(Rotation, models.CASCADE, related_name="accepted_warnings")
    code = models.CharField(_("finding"), max_length=60)
    week = models.PositiveSmallIntegerField(_("week"), null=True, blank=True)
    sentence = models.TextField(_("warning"), max_length=1000)
    reason = models.TextField(_("reason"), max_length=1000)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="accepted_warnings",
        verbose_name=_("accepted by"),
    )
    accepted_at = models.DateTimeField(_("accepted"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["rotation", "week", "pk"]
        verbose_name = _("accepted warning")
        verbose_name_plural = _("accepted warnings")
        constraints = [
            models.CheckConstraint(
                name="accepted_warning_has_a_reason",
                condition=~Q(reason=""),
                violation_error_message=_("Say why the warning is accepted."),
            ),
        ]

    def __str__(self):
        return self.sentence
