"""Loads visits with all that planning asks of them, in a fixed number of queries."""

from collections.abc import Iterable
from datetime import date, datetime

from django.utils import timezone

from services.models import Visit, Yard


def visits_to_plan(ids: Iterable[int]) -> list[Visit]:
    """Return visits with place, plantings, labels, holds and neighbours, the most urgent first.

    Visits of a week share their products, so each label is read once for all of them.
    """
    visits = Visit.objects.filter(pk__in=list(ids))
    visits = visits.select_related(
        "course__property__client",
        "course__rotation__pest",
        "rotation_week__adjuvant",
        "dispatch__crew",
    ).prefetch_related(
        "holds",
        "course__plantings",
        "course__property__access_windows",
        "course__property__neighbours",
        "course__plantings__water_tests",
        "rotation_week__product__rates",
        "rotation_week__adjuvant__rates",
    )
    return sorted(visits, key=lambda visit: (visit.latest, visit.planned, visit.pk))


def today_at_yard(now: datetime | None = None) -> date:
    """Return the date that the clocks of the yard show; of the first where there are several."""
    yard = Yard.objects.order_by("pk").first()
    moment = now or timezone.now()
    return moment.astimezone(yard.zone()).date() if yard else moment.date()
