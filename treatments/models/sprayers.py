"""Sprayers, and what each puts out in whose hands."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _


class Sprayer(models.Model):
    """A machine that puts out spray."""

    class Kind(models.TextChoices):
        """How it works."""

        HAND = "hand", _("compressed-air hand sprayer")
        BACKPACK = "backpack", _("backpack sprayer")
        HOSE_END = "hose-end", _("hose-end sprayer")
        POWER = "power", _("tank with hose and gun")

    name = models.CharField(_("name"), max_length=100, unique=True)
    kind = models.CharField(_("kind"), max_length=8, choices=Kind.choices)
    tank_gallons = models.DecimalField(
        _("usable tank (gal)"),
        max_digits=6,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.25"))],
        help_text=_("What can be filled in use, not what stands on the plate."),
    )
    has_agitation = models.BooleanField(_("agitation"), default=False)
    reach_ft = models.PositiveSmallIntegerField(_("reach (ft)"), default=8)
    retired = models.BooleanField(_("out of use"), default=False)

    class Meta:
        ordering = ["name"]
        verbose_name = _("sprayer")
        verbose_name_plural = _("sprayers")
        constraints = [
            models.CheckConstraint(
                name="sprayer_holds_something", condition=Q(tank_gallons__gt=0, reach_ft__gt=0)
            ),
        ]

    def __str__(self):
        return self.name


class CalibrationQuerySet(models.QuerySet):
    """Ways to pick calibrations that read as the trade says them."""

    def valid_on(self, day):
        """Pick the calibrations that hold on a date."""
        return self.filter(calibrated_on__lte=day, expires_on__gte=day)


class Calibration(models.Model):
    """What a sprayer with a nozzle puts out in a person's hands, as measured."""

    class Method(models.TextChoices):
        """How it was measured."""

        ONE_128TH = "1/128 acre", _("1/128 acre")
        TIMED = "timed 1,000 sq ft", _("timed 1,000 sq ft")
        TEST_AREA = "test area", _("test area, scaled up")
        REFILL = "refill", _("refill")
        FLOW = "flow and speed", _("flow and speed")
        METRIC = "metric", _("flow and speed, metric")
        WATER_TEST = "water test", _("water test on the planting")

    sprayer = models.ForeignKey(
        Sprayer, models.PROTECT, related_name="calibrations", verbose_name=_("sprayer")
    )
    person = models.ForeignKey(
        "treatments.Applicator",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="calibrations",
        verbose_name=_("person"),
    )
    nozzle = models.CharField(_("nozzle"), max_length=100)
    pressure_psi = models.DecimalField(
        _("pressure (psi)"), max_digits=5, decimal_places=1, null=True, blank=True
    )
    method = models.CharField(_("method"), max_length=20, choices=Method.choices)
    gallons_per_1000_sq_ft = models.DecimalField(
        _("output (gal/1,000 sq ft)"),
        max_digits=7,
        decimal_places=3,
        validators=[MinValueValidator(Decimal("0.001"))],
    )
    flow_gallons_per_minute = models.DecimalField(
        _("flow (gal/min)"), max_digits=6, decimal_places=3, null=True, blank=True
    )
    readings = models.JSONField(_("readings"), default=list, blank=True)
    calibrated_on = models.DateField(_("calibrated"))
    expires_on = models.DateField(_("holds until"))

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        ordering = ["sprayer", "-calibrated_on", "-pk"]
        verbose_name = _("calibration")
        verbose_name_plural = _("calibrations")
        constraints = [
            models.CheckConstraint(
                name="calibration_puts_out_something",
                condition=Q(gallons_per_1000_sq_ft__gt=0, expires_on__gt=F("calibrated_on")),
                violation_error_message=_("A calibration has an output and ends after it began."),
            ),
        ]

    def __str__(self):
        return f"{self.sprayer}, {self.nozzle}, {self.calibrated_on}"
