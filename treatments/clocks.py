"""Which clock the book goes by where no single property decides it."""

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, QuerySet
from django.utils import timezone

from clients.models import Property


def home_zone() -> ZoneInfo:
    """Return the time zone in which most properties lie, which is where the store stands."""
    return ZoneInfo(_of_most(Property.objects.all()) or settings.TIME_ZONE)


def zone_in(jurisdiction: str) -> ZoneInfo:
    """Return the time zone of most properties in a jurisdiction, without any there that of home.

    jurisdiction: by ISO 3166-2, such as "US-NY"
    """
    there = _of_most(Property.objects.filter(jurisdiction=jurisdiction))
    return ZoneInfo(there) if there else home_zone()


def _of_most(properties: QuerySet[Property]) -> str | None:
    """Return the name of the zone in which most of these lie, None where there are none."""
    zones = properties.order_by().values_list("time_zone").annotate(number=Count("pk"))
    most = zones.order_by("-number", "time_zone").first()
    return most[0] if most else None


def home_day() -> date:
    """Return the day by the clock of most properties."""
    return timezone.localdate(timezone=home_zone())
