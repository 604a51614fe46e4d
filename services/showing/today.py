"""The clock of the yard, by which the office reads the hours."""

from zoneinfo import ZoneInfo

from services.models import Yard

BEFORE_THERE_IS_A_YARD = ZoneInfo("UTC")


def yard_zone() -> ZoneInfo:
    """Return the time zone of the yard, or of the first where there are several."""
    yard = Yard.objects.order_by("pk").first()
    return yard.zone() if yard else BEFORE_THERE_IS_A_YARD
