"""A dispatch: one crew's visits of a day in order, and what its truck carries."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from treatments.storekeeping import Carried


class Dispatch(models.Model):
    """The day of a crew: visits in order with their hours, and a load for the truck."""

    crew = models.ForeignKey(
        "services.Crew", models.PROTECT, related_name="dispatches", verbose_name=_("crew")
    )
    day = models.DateField(_("day"))
    made_at = models.DateTimeField(_("dispatched"))
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="dispatches",
        verbose_name=_("dispatched by"),
    )
    leaves_yard_at = models.DateTimeField(_("leaves the yard"))
    returns_at = models.DateTimeField(_("back in the yard"))
    legs = models.JSONField(
        _("legs"), default=list, help_text=_("Travel, wait, work, lunch and refill in order.")
    )
    travel = models.JSONField(
        _("how the driving was reckoned"),
        default=dict,
        blank=True,
        help_text=_("Whether by a road server, which ways it did not tell, and the yard's factor."),
    )
    water_gallons = models.DecimalField(
        _("water (gal)"), max_digits=8, decimal_places=1, default=Decimal(0)
    )
    signs = models.PositiveSmallIntegerField(_("signs"), default=0)
    note = models.CharField(_("note"), max_length=400, blank=True)

    class Meta:
        ordering = ["day", "crew"]
        verbose_name = _("dispatch")
        verbose_name_plural = _("dispatches")
        indexes = [models.Index(fields=["day"], name="dispatch_day")]
        constraints = [
            models.UniqueConstraint("crew", "day", name="dispatch_once_a_crew_and_day"),
        ]

    def __str__(self):
        return f"{self.crew}, {self.day}"


class LoadLine(models.Model):
    """What a truck takes along from one lot."""

    dispatch = models.ForeignKey(
        Dispatch, models.CASCADE, related_name="load", verbose_name=_("dispatch")
    )
    lot = models.ForeignKey(
        "treatments.Lot", models.PROTECT, related_name="load_lines", verbose_name=_("lot")
    )
    amount = models.DecimalField(_("amount"), max_digits=10, decimal_places=3)

    # What the truck carries of it already, and what others do; where that was asked for.
    aboard = Decimal(0)
    elsewhere: tuple[Carried, ...] = ()

    class Meta:
        ordering = ["dispatch", "lot"]
        verbose_name = _("load line")
        verbose_name_plural = _("load lines")
        constraints = [
            models.UniqueConstraint("dispatch", "lot", name="load_line_once_a_lot"),
            models.CheckConstraint(name="load_line_takes_something", condition=Q(amount__gt=0)),
        ]

    def __str__(self):
        return f"{self.amount} {self.lot}"
