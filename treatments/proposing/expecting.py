"""What temperatures the nearest station knows about the first weeks."""

from datetime import date, timedelta
from decimal import Decimal

from clients.models import Property
from treatments.rules.egg_reach import warmest_week
from treatments.weather import weather_near

BEFORE = timedelta(days=14)  # the weather that is known rarely reaches far ahead
AHEAD = timedelta(days=42)


def temperatures_near(place: Property, day: date) -> tuple[Decimal, Decimal] | None:
    """Return the mean night and day of the warmest week known about a day, in degrees Fahrenheit.

    None where no station is near, or it knows fewer than seven days from two weeks before on.
    """
    known = weather_near(place, day - BEFORE, day + AHEAD)
    return warmest_week(known.days) if known else None
