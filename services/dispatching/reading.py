"""Loads visits with all that planning asks of them, in a fixed number of queries."""

from collections.abc import Iterable, Set
from datetime import date, datetime

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils import timezone

from clients.loaded import noting
from services.models import Visit, Yard
from treatments.models import Rotation, RotationWeek

# What the mix of a visit is reckoned from.  Many visits have one rotation and one week of it, so
# each of these is read once and is one and the same thing for all.
MIXED_FROM = (
    Prefetch("course__rotation", Rotation.objects.select_related("pest")),
    Prefetch("rotation_week", RotationWeek.objects.select_related("product", "adjuvant")),
    noting("course__plantings"),
    noting("course__all_plantings__water_tests"),
)
LABELS = ("product__rates", "adjuvant__rates")  # of the weeks of rotations
PLANNED_FROM = (
    noting("holds"),
    noting("course__property__access_windows"),
    noting("course__property__neighbours"),
)


def visits_to_plan(ids: Iterable[int]) -> list[Visit]:
    """Return visits with place, plantings, labels, holds and neighbours, the most urgent first."""
    return loaded_to_plan(Visit.objects.filter(pk__in=list(ids)))


def loaded_to_plan(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with all that `visits_to_plan` loads, the most urgent first."""
    loaded = _with_mixes(visits.select_related("course__property__client", "dispatch__crew"))
    prefetch_related_objects(loaded, *PLANNED_FROM)
    return loaded


def loaded_together(planned: Set[int], mixed: Set[int]) -> tuple[list[Visit], list[Visit]]:
    """Return visits as `visits_to_plan` loads them, and others as `visits_to_mix` does, by ids."""
    visits = Visit.objects.filter(pk__in=planned | mixed)
    loaded = _with_mixes(visits.select_related("course__property__client", "dispatch__crew"))
    to_plan = [visit for visit in loaded if visit.pk in planned]
    prefetch_related_objects(to_plan, *PLANNED_FROM)
    return to_plan, [visit for visit in loaded if visit.pk not in planned]


def visits_to_mix(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with no more than what they take is reckoned from, the most urgent first."""
    return _with_mixes(visits.select_related("course__property"))


def _with_mixes(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with what they take is reckoned from, the most urgent first."""
    loaded = visits.order_by().prefetch_related(*MIXED_FROM)
    prefetch_related_objects([*{visit.rotation_week for visit in loaded}], *LABELS)
    return sorted(loaded, key=lambda visit: (visit.latest, visit.planned, visit.pk))


def today_at_yard(now: datetime | None = None) -> date:
    """Return the date that the clocks of the yard show; of the first where there are several."""
    yard = Yard.objects.order_by("pk").first()
    moment = now or timezone.now()
    return moment.astimezone(yard.zone()).date() if yard else moment.date()
