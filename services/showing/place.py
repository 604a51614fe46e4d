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
from services.charting import NARROW, draw_plan, draw_season, season_of
from services.expecting import expected_on, weather_of
from services.models import Course, Visit
from services.sheets.charts import Season, as_svg
from treatments.forecasting import Outlook
from treatments.gathering import treated_area_of
from treatments.judging import Beside, beside_of, judged
from treatments.looking import mite_heat
from treatments.models import ApplicationRecord, Pest, ScoutingCount
from treatments.rules.findings import Finding
from treatments.weather import LocalWeather


@dataclass(frozen=True, slots=True)
class PestSeason:
    """A pest's year on a planting: the drawing, and the counts for those who read tables.

    outlook: where it is heading with the visits that are planned
    efficacy: what each visit did, the last first
    """

    key: str
    pest: Pest
    name: str
    season: Season
    counts: list[ScoutingCount]
    outlook: Outlook
    efficacy: list[Finding]

    def svg(self) -> str:
        """Return the drawing as SVG text."""
        return mark_safe(as_svg(draw_season(self.season), f"season-{self.key}"))

    def narrow_svg(self) -> str:
        """Return the same drawing for a phone."""
        return mark_safe(as_svg(draw_season(self.season, NARROW), f"narrow-{self.key}"))


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

    def narrow_plan(self) -> str:
        """Return the same plan for a phone."""
        figure = draw_plan((shown.planting for shown in self.plantings), NARROW)
        return mark_safe(as_svg(figure, "narrow-plan"))

    def open_courses(self) -> list[Course]:
        """Return the courses that have not ended."""
        return [course for course in self.courses if course.ended_at is None]

    def ended_courses(self) -> list[Course]:
        """Return the courses that are over."""
        return [course for course in self.courses if course.ended_at is not None]


@dataclass(frozen=True, slots=True)
class Around:
    """What all plantings of a property share: the air, and plantings that were left untreated."""

    weather: LocalWeather | None
    beside: Beside
    today: date


def place_shown(place: Property, today: date) -> PlaceShown:
    """Return what the page of a property shows, in a fixed number of queries."""
    plantings = list(place.plantings.prefetch_related("earlier_applications"))
    for planting in plantings:
        planting.property = place
    courses = courses_of(place)
    coming = [visit for course in courses for visit in course.visits.all() if visit.is_open()]
    histories = _with_history(plantings)
    around = Around(
        weather=weather_of(plantings[0], today) if plantings else None,
        beside=beside_of(count for _, counts, _ in histories for count in counts),
        today=today,
    )
    shown = [
        _shown(planting, counts, records, _of_planting(coming, planting), around)
        for planting, counts, records in histories
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
    visits = visits.select_related("rotation_week__product", "course__rotation")
    visits = list(visits.prefetch_related("rotation_week__product__contents__ingredient"))
    (_, counts, records), *_ = _with_history([planting])
    counts = [count for count in counts if count.pest_id == pest.pk]
    known: dict = {"counts": counts, "records": records, "visits": visits, "today": today}
    outlook = expected_on(planting, pest, weather=weather_of(planting, today), **known)
    return season_of(planting, pest, outlook=outlook, **known)


def _with_history(
    plantings: list[Planting],
) -> list[tuple[Planting, list[ScoutingCount], list[ApplicationRecord]]]:
    counts: dict[int, list[ScoutingCount]] = defaultdict(list)
    by_key = {planting.pk: planting for planting in plantings}
    found = ScoutingCount.objects.filter(planting__in=plantings).select_related("pest")
    for count in found.order_by("scouted_at"):
        count.planting = by_key[count.planting_id]
        counts[count.planting_id].append(count)
    records: dict[int, list[ApplicationRecord]] = defaultdict(list)
    applied = ApplicationRecord.objects.current().filter(planting__in=plantings)
    for record in applied.prefetch_related("product__contents__ingredient"):
        records[record.planting_id].append(record)
    return [(each, counts[each.pk], records[each.pk]) for each in plantings]


def _of_planting(visits: Iterable[Visit], planting: Planting) -> list[Visit]:
    return [visit for visit in visits if planting in visit.course.plantings.all()]


def _shown(
    planting: Planting,
    counts: list[ScoutingCount],
    records: list[ApplicationRecord],
    visits: list[Visit],
    around: Around,
) -> PlantingShown:
    by_pest: dict[Pest, list[ScoutingCount]] = defaultdict(list)
    for count in counts:
        by_pest[count.pest].append(count)
    for visit in visits:
        by_pest.setdefault(visit.course.rotation.pest, [])
    seasons = [
        _season(planting, pest, theirs, records, visits, around) for pest, theirs in by_pest.items()
    ]
    return PlantingShown(planting, treated_area_of(planting), seasons, records)


def _season(
    planting: Planting,
    pest: Pest,
    counts: list[ScoutingCount],
    records: list[ApplicationRecord],
    visits: list[Visit],
    around: Around,
) -> PestSeason:
    known: dict = {"counts": counts, "records": records, "visits": visits, "today": around.today}
    outlook = expected_on(planting, pest, weather=around.weather, **known)
    told = judged(
        pest=pest,
        planting=planting,
        counts=counts,
        records=records,
        heat=mite_heat(pest, around.weather),
        beside=around.beside,
    )
    return PestSeason(
        key=f"{planting.pk}-{pest.pk}",
        pest=pest,
        name=pest.name_in(get_language()),
        season=season_of(planting, pest, outlook=outlook, **known),
        counts=counts[::-1],
        outlook=outlook,
        efficacy=[finding for each in reversed(told) for finding in each.findings],
    )
