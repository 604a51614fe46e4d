"""Which clock the book goes by where no single property decides it."""

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count
from django.utils import timezone

from clients.models import Property


def home_zone() -> ZoneInfo:
    """Return the time zone in which most properties lie, which is where the store stands."""
    zones = Property.objects.order_by().values_list("time_zone")
    most = zones.annotate(number=Count("pk")).order_by("-number", "time_zone").first()
    return ZoneInfo(most[0] if most else settings.TIME_ZONE)


def home_day() -> date:
    """Return the day by the clock of most properties."""
    return timezone.localdate(timezone=home_zone())
