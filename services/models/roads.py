"""Ways between places as a road server told them, kept so that it is asked once."""

from django.db import models
from django.utils.translation import gettext_lazy as _


def degrees(name):
    """Return a column for degrees in 5 decimals, as a road server is asked by them."""
    return models.DecimalField(name, max_digits=8, decimal_places=5)


class RoadWay(models.Model):
    """The way by road from one place to another, as one server told it."""

    server = models.CharField(_("road server"), max_length=200)
    from_latitude = degrees(_("from latitude"))
    from_longitude = degrees(_("from longitude"))
    to_latitude = degrees(_("to latitude"))
    to_longitude = degrees(_("to longitude"))
    seconds = models.FloatField(_("seconds"))
    metres = models.FloatField(_("meters"))
    told_at = models.DateTimeField(_("told"))

    class Meta:
        ordering = ["server", "pk"]
        verbose_name = _("way by road")
        verbose_name_plural = _("ways by road")
        constraints = [
            models.UniqueConstraint(
                fields=["server", "from_latitude", "from_longitude", "to_latitude", "to_longitude"],
                name="way_once_a_server_and_two_places",
            ),
            models.CheckConstraint(
                name="way_takes_time_and_length",
                condition=models.Q(seconds__gte=0, metres__gte=0),
            ),
        ]

    def __str__(self):
        return (
            f"{self.from_latitude}, {self.from_longitude} – {self.to_latitude}, {self.to_longitude}"
        )
