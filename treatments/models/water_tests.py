"""Tests with water: how much it takes to wet a part of a planting to just before runoff."""

from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties
from treatments.rules.units import Unit, convert


class WaterTestQuerySet(models.QuerySet):
    """Ways to pick tests that read as the trade says them."""

    def for_user(self, user):
        """Pick the tests on the properties a person may see."""
        if has_role(user, STAFF):
            return self
        return self.filter(planting__property__in=reachable_properties(user))


class WaterTest(models.Model):
    """What a strip or some plants of a planting took of water, measured for the next mix."""

    class WaterUnit(models.TextChoices):
        """The unit in which the water was measured."""

        FLUID_OUNCE = Unit.FLUID_OUNCE.value, _("fl oz")
        QUART = Unit.QUART.value, _("qt")
        GALLON = Unit.GALLON.value, _("gal")
        LITRE = Unit.LITRE.value, _("L")

    planting = models.ForeignKey(
        "clients.Planting", models.PROTECT, related_name="water_tests", verbose_name=_("planting")
    )
    sprayer = models.ForeignKey(
        "treatments.Sprayer",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="water_tests",
        verbose_name=_("sprayer"),
    )
    tested_on = models.DateField(_("tested"))
    tested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="water_tests",
        verbose_name=_("by"),
    )
    strip_ft = models.DecimalField(
        _("length wetted (ft)"),
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1"))],
        help_text=_("Of a hedge, bed or row: 20 to 25 ft, on every face that is sprayed."),
    )
    plants_tested = models.PositiveIntegerField(
        _("plants wetted"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text=_("Instead of a length: one typical plant, or several."),
    )
    water_amount = models.DecimalField(
        _("water used"),
        max_digits=8,
        decimal_places=3,
        validators=[MinValueValidator(Decimal("0.001"))],
        help_text=_("What fills the tank up again, or was caught for as long."),
    )
    water_unit = models.CharField(
        _("measured in"), max_length=5, choices=WaterUnit.choices, default=WaterUnit.GALLON
    )
    note = models.CharField(_("note"), max_length=200, blank=True)

    objects = WaterTestQuerySet.as_manager()

    class Meta:
        ordering = ["planting", "-tested_on", "-pk"]
        verbose_name = _("water test")
        verbose_name_plural = _("water tests")
        constraints = [
            models.CheckConstraint(
                name="water_test_on_a_strip_or_on_plants",
                condition=Q(strip_ft__isnull=False, strip_ft__gt=0, plants_tested__isnull=True)
                | Q(strip_ft__isnull=True, plants_tested__isnull=False, plants_tested__gt=0),
                violation_error_message=_("Give the length that was wetted, or the plants."),
            ),
            models.CheckConstraint(
                name="water_test_used_water",
                condition=Q(water_amount__gt=0),
                violation_error_message=_("A test used some water."),
            ),
        ]

    def __str__(self):
        return f"{self.planting}, {self.tested_on}"

    def clean(self):
        """Refuse a test on more than there is of the planting."""
        if self.strip_ft is not None and self.strip_ft > self.planting.length_ft:
            raise ValidationError(
                {
                    "strip_ft": _("The planting is only %(length)s ft long.")
                    % {"length": f"{self.planting.length_ft:f}"}
                }
            )
        if self.plants_tested is not None and self.plants_tested > self.planting.plants:
            raise ValidationError(
                {
                    "plants_tested": _("The planting has only %(plants)s plants.")
                    % {"plants": self.planting.plants}
                }
            )

    def gallons(self):
        """Return the water used, in US gallons."""
        return convert(self.water_amount, Unit(self.water_unit), Unit.GALLON)
