"""What the air is forecast to be, hour by hour, and the errands that fetch it cell by cell."""

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


class ErrandQuerySet(models.QuerySet):
    """Ways to pick errands."""

    def due_at(self, now):
        """Pick the errands that are due and in no hand."""
        in_no_hand = Q(leased_until__isnull=True) | Q(leased_until__lt=now)
        return self.filter(in_no_hand, not_before__lte=now)


class Errand(models.Model):
    """A standing errand to the weather service: taken under a lease, done again when it is time.

    The row is the truth; a message of the broker carries only its id and may be lost.
    """

    not_before = models.DateTimeField(_("not before"))
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    failures = models.PositiveSmallIntegerField(_("failures in a row"), default=0)
    last_error = models.CharField(_("last error"), max_length=400, blank=True)
    fetched_at = models.DateTimeField(_("fetched"), null=True, blank=True)

    objects = ErrandQuerySet.as_manager()

    class Meta:
        abstract = True


class ForecastCell(Errand):
    """A cell of the weather service's grid, for which a forecast is fetched once an hour."""

    office = models.CharField(_("office of the grid"), max_length=3)
    grid_x = models.PositiveSmallIntegerField(_("column of the grid"))
    grid_y = models.PositiveSmallIntegerField(_("row of the grid"))
    elevation_ft = models.SmallIntegerField(_("feet above the sea"), null=True, blank=True)

    class Meta:
        ordering = ["office", "grid_x", "grid_y"]
        verbose_name = _("cell of the forecast grid")
        verbose_name_plural = _("cells of the forecast grid")
        constraints = [
            models.UniqueConstraint("office", "grid_x", "grid_y", name="forecast_cell_once"),
        ]

    def __str__(self):
        return f"{self.office} {self.grid_x},{self.grid_y}"


class ForecastPoint(Errand):
    """A place of which the weather service was asked in which cell it lies.

    It is told in thousandths of a degree, some hundred yards, so that neighbours share it.
    """

    latitude = models.DecimalField(_("latitude"), max_digits=5, decimal_places=3)
    longitude = models.DecimalField(_("longitude"), max_digits=6, decimal_places=3)
    cell = models.ForeignKey(
        ForecastCell,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="points",
        verbose_name=_("cell of the forecast grid"),
    )

    class Meta:
        ordering = ["latitude", "longitude"]
        verbose_name = _("place of the forecast grid")
        verbose_name_plural = _("places of the forecast grid")
        constraints = [
            models.UniqueConstraint("latitude", "longitude", name="forecast_point_once"),
        ]

    def __str__(self):
        return f"{self.latitude}, {self.longitude}"


class HourlyForecast(models.Model):
    """The forecast of one hour, from one source: for a cell of the grid, or about a yard.

    What the weather service tells stands for its cell, what a person enters for the country
    about a yard.
    """

    class Source(models.TextChoices):
        """Who says so."""

        SERVICE = "service", _("national weather service")
        PERSON = "person", _("entered by hand")
        INVENTED = "invented", _("invented for demonstration")

    cell = models.ForeignKey(
        ForecastCell,
        models.CASCADE,
        null=True,
        blank=True,
        related_name="hours",
        verbose_name=_("cell of the forecast grid"),
    )
    yard = models.ForeignKey(
        "services.Yard",
        models.CASCADE,
        null=True,
        blank=True,
        related_name="forecasts",
        verbose_name=_("yard"),
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
        ordering = ["yard", "cell", "starts_at", "source"]
        verbose_name = _("hour of a forecast")
        verbose_name_plural = _("hours of forecasts")
        constraints = [
            models.UniqueConstraint(
                "yard", "starts_at", "source", name="forecast_once_an_hour_and_source"
            ),
            models.UniqueConstraint(
                "cell", "starts_at", "source", name="forecast_once_an_hour_source_and_cell"
            ),
            models.CheckConstraint(
                name="forecast_of_a_cell_or_a_yard",
                condition=Q(cell__isnull=True) ^ Q(yard__isnull=True),
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
        return f"{self.cell or self.yard}, {self.starts_at:%Y-%m-%d %H:%M}"
