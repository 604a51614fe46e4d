"""Loads visits with all that planning asks of them, in a fixed number of queries."""

from collections.abc import Iterable, Sequence, Set
from datetime import date, datetime

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils import timezone

from clients.loaded import all_of, note, noting
from services.models import Visit, Yard
from treatments.models import Rotation, RotationWeek

ROTATIONS = Rotation.objects.select_related("pest")
WEEKS = RotationWeek.objects.select_related("product", "adjuvant")
LABELS = ("product__rates", "adjuvant__rates")


def visits_to_plan(ids: Iterable[int]) -> list[Visit]:
    """Return visits with place, plantings, labels, holds and neighbours, the most urgent first."""
    return loaded_to_plan(Visit.objects.filter(pk__in=list(ids)))


def loaded_to_plan(visits: QuerySet[Visit]) -> list[Visit]:
    """Return visits with all that `visits_to_plan` loads, the most urgent first."""
    loaded, _none = loaded_together(visits, frozenset())
    return loaded


def loaded_together(planned: QuerySet[Visit], mixed: Set[int]) -> tuple[list[Visit], list[Visit]]:
    """Return visits as `visits_to_plan` loads them, and of some ids the others, to be mixed."""
    to_plan = _most_urgent_first(
        planned.select_related("course__property__client", "dispatch__crew")
    )
    others = mixed - {visit.pk for visit in to_plan}
    to_mix = _most_urgent_first(
        Visit.objects.filter(pk__in=others).select_related("course__property")
    )
    _load_mixes([*to_plan, *to_mix])
    places = [visit.course.property for visit in to_plan]
    note(to_plan, "holds")
    note(places, "access_windows")
    note(places, "neighbours")
    return to_plan, to_mix


def visits_to_mix(ids: Set[int]) -> list[Visit]:
    """Return visits with no more than what they take is reckoned from, the most urgent first."""
    _none, loaded = loaded_together(Visit.objects.none(), ids)
    return loaded


def _load_mixes(visits: Sequence[Visit]) -> None:
    """Load what visits take is reckoned from.

    Many have one rotation and one week of it: each is read once, and is the same thing for all.
    """
    courses = [visit.course for visit in visits]
    prefetch_related_objects(visits, Prefetch("rotation_week", WEEKS))
    prefetch_related_objects([*{visit.rotation_week for visit in visits}], *LABELS)
    prefetch_related_objects(courses, Prefetch("rotation", ROTATIONS), noting("plantings"))
    note([bed for course in courses for bed in all_of(course, "plantings")], "water_tests")


def _most_urgent_first(visits: QuerySet[Visit]) -> list[Visit]:
    return sorted(visits.order_by(), key=lambda each: (each.latest, each.planned, each.pk))


def today_at_yard(now: datetime | None = None) -> date:
    """Return the date that the clocks of the yard show; of the first where there are several."""
    yard = Yard.objects.order_by("pk").first()
    moment = now or timezone.now()
    return moment.astimezone(yard.zone()).date() if yard else moment.date()
