"""A property with its plantings, their seasons, its courses, and what was applied."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch
from django.utils.safestring import mark_safe
from django.utils.translation import get_language

from clients.models import Planting, Property
from services.charting import draw_plan, draw_season, season_of
from services.models import Course, Visit
from services.sheets.charts import Season, as_svg
from treatments.gathering import treated_area_of
from treatments.models import ApplicationRecord, Pest, ScoutingCount


@dataclass(frozen=True, slots=True)
class PestSeason:
    """A pest's year on a planting: the drawing, and the counts for those who read tables."""

    key: str
    pest: Pest
    name: str
    season: Season
    counts: list[ScoutingCount]

    def svg(self) -> str:
        """Return the drawing as SVG text."""
        return mark_safe(as_svg(draw_season(self.season), f"season-{self.key}"))


@dataclass(frozen=True, slots=True)
class PlantingShown:
    """A planting with its seasons and what was applied on it, the last first."""

    planting: Planting
    area_sq_ft: Decimal
    seasons: list[PestSeason]
    records: list[ApplicationRecord]


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """All that the page of a property shows beside the property itself."""

    plantings: list[PlantingShown]
    courses: list[Course]
    coming: list[Visit]

    def plan(self) -> str:
        """Return the plan of the plantings as SVG text."""
        return mark_safe(as_svg(draw_plan(shown.planting for shown in self.plantings), "plan"))

    def open_courses(self) -> list[Course]:
        """Return the courses that have not ended."""
        return [course for course in self.courses if course.ended_at is None]

    def ended_courses(self) -> list[Course]:
        """Return the courses that are over."""
        return [course for course in self.courses if course.ended_at is not None]


def place_shown(place: Property, today: date) -> PlaceShown:
    """Return what the page of a property shows, in a fixed number of queries."""
    plantings = list(place.plantings.all())
    for planting in plantings:
        planting.property = place
    courses = courses_of(place)
    coming = [visit for course in courses for visit in course.visits.all() if visit.is_open()]
    shown = [
        _shown(planting, counts, records, _of_planting(coming, planting), today)
        for planting, counts, records in _with_history(plantings)
    ]
    return PlaceShown(shown, courses, sorted(coming, key=lambda visit: visit.planned))


def courses_of(place: Property) -> list[Course]:
    """Return the courses of a property with visits, products and plantings, the last first."""
    visits = Visit.objects.select_related("rotation_week__product", "dispatch__crew")
    visits = visits.prefetch_related("holds", "rotation_week__product__contents__ingredient")
    found = place.courses.select_related("rotation__pest").prefetch_related(
        "plantings",
        "rotation__weeks",
        Prefetch("visits", visits.order_by("rotation_week__week")),
    )
    courses = list(found)
    for course in courses:
        course.property = place
        for visit in course.visits.all():
            visit.course = course
    return courses


def one_season(planting: Planting, pest: Pest, today: date) -> Season:
    """Return the season of one pest on one planting."""
    visits = Visit.objects.open().filter(course__plantings=planting)
    visits = visits.select_related("rotation_week__product")
    return season_of(
        planting,
        pest,
        counts=list(planting.counts.filter(pest=pest).order_by("scouted_at")),
        records=list(ApplicationRecord.objects.current().filter(planting=planting)),
        visits=list(visits.prefetch_related("rotation_week__product__contents__ingredient")),
        today=today,
    )


def _with_history(
    plantings: list[Planting],
) -> Iterable[tuple[Planting, list[ScoutingCount], list[ApplicationRecord]]]:
    counts: dict[int, list[ScoutingCount]] = defaultdict(list)
    found = ScoutingCount.objects.filter(planting__in=plantings).select_related("pest")
    for count in found.order_by("scouted_at"):
        counts[count.planting_id].append(count)
    records: dict[int, list[ApplicationRecord]] = defaultdict(list)
    for record in ApplicationRecord.objects.current().filter(planting__in=plantings):
        records[record.planting_id].append(record)
    return [(each, counts[each.pk], records[each.pk]) for each in plantings]


def _of_planting(visits: Iterable[Visit], planting: Planting) -> list[Visit]:
    return [visit for visit in visits if planting in visit.course.plantings.all()]


def _shown(
    planting: Planting,
    counts: list[ScoutingCount],
    records: list[ApplicationRecord],
    visits: list[Visit],
    today: date,
) -> PlantingShown:
    by_pest: dict[Pest, list[ScoutingCount]] = defaultdict(list)
    for count in counts:
        by_pest[count.pest].append(count)
    for visit in visits:
        by_pest.setdefault(visit.course.rotation.pest, [])
    seasons = [
        PestSeason(
            key=f"{planting.pk}-{pest.pk}",
            pest=pest,
            name=pest.name_in(get_language()),
            season=season_of(
                planting, pest, counts=theirs, records=records, visits=visits, today=today
            ),
            counts=theirs[::-1],
        )
        for pest, theirs in by_pest.items()
    ]
    return PlantingShown(planting, treated_area_of(planting), seasons, records)
