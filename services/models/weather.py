"""What the air is forecast to be, hour by hour, and the errand that fetches it for a yard."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


def figure(name, *, least, most, help_text=""):
    """Return a column for a figure of the air; empty is unknown, never calm or dry."""
    return models.DecimalField(
        name,
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        help_text=help_text,
        validators=[MinValueValidator(Decimal(least)), MaxValueValidator(Decimal(most))],
    )


class HourlyForecast(models.Model):
    """The forecast of one hour for the country around a yard, from one source."""

    class Source(models.TextChoices):
        """Who says so."""

        SERVICE = "service", _("national weather service")
        PERSON = "person", _("entered by hand")
        INVENTED = "invented", _("invented for demonstration")

    yard = models.ForeignKey(
        "services.Yard", models.CASCADE, related_name="forecasts", verbose_name=_("yard")
    )
    starts_at = models.DateTimeField(_("hour"))
    temperature_f = figure(_("temperature (°F)"), least=-80, most=140)
    humidity_percent = figure(_("humidity (%)"), least=0, most=100)
    wind_mph = figure(_("wind (mph)"), least=0, most=200)
    gust_mph = figure(_("gusts (mph)"), least=0, most=250)
    rain_percent = figure(_("chance of rain (%)"), least=0, most=100)
    source = models.CharField(_("source"), max_length=8, choices=Source.choices)
    fetched_at = models.DateTimeField(_("told at"))
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="forecasts_entered",
        verbose_name=_("entered by"),
    )

    class Meta:
        ordering = ["yard", "starts_at", "source"]
        verbose_name = _("hour of a forecast")
        verbose_name_plural = _("hours of forecasts")
        constraints = [
            models.UniqueConstraint(
                "yard", "starts_at", "source", name="forecast_once_an_hour_and_source"
            ),
            models.CheckConstraint(
                name="forecast_humidity_is_a_share",
                condition=Q(humidity_percent__isnull=True) | Q(humidity_percent__range=(0, 100)),
            ),
            models.CheckConstraint(
                name="forecast_wind_is_not_negative",
                condition=Q(wind_mph__isnull=True) | Q(wind_mph__gte=0),
            ),
        ]

    def __str__(self):
        return f"{self.yard}, {self.starts_at:%Y-%m-%d %H:%M}"


class ForecastErrand(models.Model):
    """The standing errand to fetch a yard's forecast: taken under a lease, done once an hour.

    The row is the truth; a message of the broker carries only its id and may be lost.
    """

    yard = models.OneToOneField(
        "services.Yard", models.CASCADE, related_name="forecast_errand", verbose_name=_("yard")
    )
    office = models.CharField(_("office of the grid"), max_length=3, blank=True)
    grid_x = models.PositiveSmallIntegerField(_("column of the grid"), null=True, blank=True)
    grid_y = models.PositiveSmallIntegerField(_("row of the grid"), null=True, blank=True)
    grid_found_at = models.DateTimeField(_("grid looked up"), null=True, blank=True)
    elevation_ft = models.SmallIntegerField(_("feet above the sea"), null=True, blank=True)
    not_before = models.DateTimeField(_("not before"))
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    failures = models.PositiveSmallIntegerField(_("failures in a row"), default=0)
    last_error = models.CharField(_("last error"), max_length=400, blank=True)
    fetched_at = models.DateTimeField(_("fetched"), null=True, blank=True)

    class Meta:
        ordering = ["yard"]
        verbose_name = _("forecast to fetch")
        verbose_name_plural = _("forecasts to fetch")

    def __str__(self):
        return f"{self.yard}, {self.not_before:%Y-%m-%d %H:%M}"
