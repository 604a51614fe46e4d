"""Loads visits with all that planning asks of them, in a fixed number of queries."""

from collections.abc import Collection, Iterable, Set
from datetime import date, datetime

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils import timezone

from clients.loaded import all_of, note, noting
from services.models import Visit, Yard
from treatments.models import Rotation, RotationWeek

# Many visits have one rotation and one week of it, so each of these is read once and is one and the
# same thing for all.
ROTATIONS = Rotation.objects.select_related("pest")
WEEKS = RotationWeek.objects.select_related("product", "adjuvant")
LABELS = ("product__rates", "adjuvant__rates")


def visits_to_plan(ids: Iterable[int]) -> list[Visit]:
    """Return visits with place, plantings, labels, holds and neighbours, the most urgent first."""
    return loaded_to_plan(Visit.objects.filter(pk__in=list(ids)))


def loaded_to_plan(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with all that `visits_to_plan` loads, the most urgent first."""
    loaded = _with_mixes(visits.select_related("course__property__client", "dispatch__crew"))
    _note_for_planning(loaded)
    return loaded


def loaded_together(planned: Set[int], mixed: Set[int]) -> tuple[list[Visit], list[Visit]]:
    """Return visits as `visits_to_plan` loads them, and others as `visits_to_mix` does, by ids."""
    visits = Visit.objects.filter(pk__in=planned | mixed)
    loaded = _with_mixes(visits.select_related("course__property__client", "dispatch__crew"))
    to_plan = [visit for visit in loaded if visit.pk in planned]
    _note_for_planning(to_plan)
    return to_plan, [visit for visit in loaded if visit.pk not in planned]


def visits_to_mix(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with no more than what they take is reckoned from, the most urgent first."""
    return _with_mixes(visits.select_related("course__property"))


def _with_mixes(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with what they take is reckoned from, the most urgent first."""
    loaded = sorted(visits.order_by(), key=lambda each: (each.latest, each.planned, each.pk))
    courses = [visit.course for visit in loaded]
    prefetch_related_objects(loaded, Prefetch("rotation_week", WEEKS))
    prefetch_related_objects([*{visit.rotation_week for visit in loaded}], *LABELS)
    prefetch_related_objects(courses, Prefetch("rotation", ROTATIONS), noting("plantings"))
    note([bed for course in courses for bed in all_of(course, "plantings")], "water_tests")
    return loaded


def _note_for_planning(visits: Collection[Visit]) -> None:
    """Load the holds of visits, and of their properties hours of access and neighbours."""
    places = [visit.course.property for visit in visits]
    note(visits, "holds")
    note(places, "access_windows")
    note(places, "neighbours")


def today_at_yard(now: datetime | None = None) -> date:
    """Return the date that the clocks of the yard show; of the first where there are several."""
    yard = Yard.objects.order_by("pk").first()
    moment = now or timezone.now()
    return moment.astimezone(yard.zone()).date() if yard else moment.date()
