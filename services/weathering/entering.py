"""Takes a forecast by hand: the same figures for some hours about a yard."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.models import HourlyForecast, Yard

HOUR = timedelta(hours=1)
LONGEST = timedelta(hours=48)  # this project's choice: nobody reads more off a page


@transaction.atomic
def enter_forecast(
    yard: Yard,
    *,
    starts_at: datetime,
    ends_at: datetime,
    figures: Mapping[str, Decimal | None],
    by: User,
    at: datetime,
) -> list[HourlyForecast]:
    """Keep what a person knows of the hours from one moment to another, in place of the former.

    figures: by the names of the columns; what is not told is unknown
    """
    if not HOUR <= ends_at - starts_at <= LONGEST:
        raise ValidationError(
            _("A forecast is entered for one to %(hours)s hours."),
            params={"hours": LONGEST // HOUR},
            code="hours",
        )
    if all(figure is None for figure in figures.values()):
        raise ValidationError(_("Enter at least one figure of the air."), code="nothing")
    source = HourlyForecast.Source.PERSON
    first = starts_at.replace(minute=0, second=0, microsecond=0)
    hours = [first + HOUR * number for number in range((ends_at - first) // HOUR)]
    rows = [
        HourlyForecast(
            yard=yard, starts_at=hour, source=source, fetched_at=at, entered_by=by, **figures
        )
        for hour in hours
    ]
    for row in rows:
        row.clean_fields()
    HourlyForecast.objects.filter(yard=yard, source=source, starts_at__in=hours).delete()
    return HourlyForecast.objects.bulk_create(rows)
