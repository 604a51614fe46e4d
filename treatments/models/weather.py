"""Daily temperatures as they were measured at a place, the ground of every heat sum."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

LATITUDES = [MinValueValidator(Decimal(-90)), MaxValueValidator(Decimal(90))]
LONGITUDES = [MinValueValidator(Decimal(-180)), MaxValueValidator(Decimal(180))]
AIR_F = [MinValueValidator(Decimal(-76)), MaxValueValidator(Decimal(140))]  # as in a file


class WeatherStation(models.Model):
    """A place where the lowest and highest temperature of each day are known."""

    name = models.CharField(_("name"), max_length=100, unique=True)
    latitude = models.DecimalField(
        _("latitude"),
        max_digits=8,
        decimal_places=6,
        validators=LATITUDES,
        help_text=_("Degrees north, WGS 84."),
    )
    longitude = models.DecimalField(
        _("longitude"),
        max_digits=9,
        decimal_places=6,
        validators=LONGITUDES,
        help_text=_("Degrees east, WGS 84; negative in the Americas."),
    )
    note = models.CharField(
        _("note"),
        max_length=200,
        blank=True,
        help_text=_("Such as who measures there, and how high above the ground."),
    )

    class Meta:
        ordering = ["name"]
        verbose_name = _("weather station")
        verbose_name_plural = _("weather stations")

    def __str__(self):
        return self.name


class DailyWeather(models.Model):
    """The lowest and highest temperature of a day at a station, and how they came to be known."""

    class Source(models.TextChoices):
        """How a day's temperatures are known."""

        MEASURED = "measured", _("measured")
        FILLED = "filled", _("filled in")
        FORECAST = "forecast", _("forecast")

    station = models.ForeignKey(
        WeatherStation, models.CASCADE, related_name="days", verbose_name=_("weather station")
    )
    day = models.DateField(_("day"))
    minimum_f = models.DecimalField(_("lowest"), max_digits=4, decimal_places=1, validators=AIR_F)
    maximum_f = models.DecimalField(_("highest"), max_digits=4, decimal_places=1, validators=AIR_F)
    source = models.CharField(
        _("how it is known"), max_length=8, choices=Source.choices, default=Source.MEASURED
    )

    class Meta:
        ordering = ["station", "day"]
        verbose_name = _("day's temperatures")
        verbose_name_plural = _("days' temperatures")
        constraints = [
            models.UniqueConstraint("station", "day", name="daily_weather_once_a_day"),
            models.CheckConstraint(
                name="daily_weather_highest_above_lowest",
                condition=Q(maximum_f__gte=F("minimum_f")),
                violation_error_message=_("The highest does not lie below the lowest."),
            ),
        ]

    def __str__(self):
        return f"{self.station}, {self.day:%Y-%m-%d}"
