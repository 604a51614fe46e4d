"""A property with its plantings, their seasons, its courses, and what was applied.

A year of it is shown: the one that ends now, or one that ended on an earlier day.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import Max, Prefetch, Q
from django.utils.safestring import mark_safe
from django.utils.translation import get_language

from clients.models import Planting, Property
from services.charting import NARROW, SEASON_DAYS, draw_plan, draw_season, season_of
from services.expecting import expected_on, weather_of
from services.models import Course, Visit
from services.sheets.charts import Season, as_svg
from treatments.forecasting import Outlook
from treatments.gathering import treated_area_of
from treatments.judging import Beside, Judged, beside_of, judged
from treatments.looking import mite_heat
from treatments.models import ApplicationRecord, EarlierApplication, Pest, ScoutingCount
from treatments.rules.findings import Finding
from treatments.weather import LocalWeather

# All that is read of what was applied before the year that is shown: it tells of the products.
OF_OLD = ("number", "planting_id", "product", "started_at", "done_at", "time_zone")


@dataclass(frozen=True, slots=True)
class Year:
    """The year that is shown of a property.

    ended_on: the day after its last one, by the clocks of the place; None where it ends now
    """

    place: Property
    today: date
    ended_on: date | None = None

    def last_day(self) -> date:
        """Return the day up to which it is shown."""
        return self.ended_on or self.today

    def first_day(self) -> date:
        """Return the first day of it."""
        return self.last_day() - timedelta(days=SEASON_DAYS)

    def begins(self) -> datetime:
        """Return the moment at which it begins."""
        return datetime.combine(self.first_day(), time(), self.place.zone())

    def up_to_its_end(self, column: str) -> Q:
        """Return the condition that a moment lies before its end."""
        if self.ended_on is None:
            return Q()
        end = datetime.combine(self.ended_on, time(), self.place.zone())
        return Q(**{f"{column}__lt": end})

    def within(self, column: str) -> Q:
        """Return the condition that a moment lies in it."""
        return self.up_to_its_end(column) & Q(**{f"{column}__gte": self.begins()})


@dataclass(frozen=True, slots=True)
class History:
    """What was counted and applied on a planting up to the end of a year.

    counts: in order; records: current ones, those of the year the last first and then the others
    """

    planting: Planting
    year: Year
    counts: list[ScoutingCount]
    records: list[ApplicationRecord]

    def counts_shown(self) -> list[ScoutingCount]:
        """Return the counts of the year, in order."""
        return [count for count in self.counts if count.scouted_at >= self.year.begins()]

    def records_shown(self) -> list[ApplicationRecord]:
        """Return the records of the year, the last first."""
        return [record for record in self.records if record.done_at >= self.year.begins()]


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
    """A planting with its seasons and what was applied on it, the last first.

    elsewhere: what was applied before this book
    """

    planting: Planting
    area_sq_ft: Decimal
    seasons: list[PestSeason]
    records: list[ApplicationRecord]
    elsewhere: list[EarlierApplication]

    def has_something(self) -> bool:
        """Say whether anything was counted or applied."""
        return bool(self.seasons or self.records or self.elsewhere)


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """All that the page of a property shows beside the property itself.

    earlier: the end of the last earlier year in which anything was done, None where nothing was
    """

    year: Year
    earlier: date | None
    plantings: list[PlantingShown]
    courses: list[Course]
    coming: list[Visit]

    def has_something(self) -> bool:
        """Say whether anything was planned, counted or applied."""
        return bool(self.courses) or any(each.has_something() for each in self.plantings)

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


def place_shown(place: Property, today: date, ended_on: date | None = None) -> PlaceShown:
    """Return what the page of a property shows of a year, in a fixed number of queries."""
    year = Year(place, today, ended_on)
    days = {"applied_on__gte": year.first_day()} | (
        {"applied_on__lt": ended_on} if ended_on else {}
    )
    elsewhere = EarlierApplication.objects.filter(**days)
    found = place.plantings.prefetch_related(Prefetch("earlier_applications", elsewhere))
    plantings = list(found)
    for planting in plantings:
        planting.property = place
    courses = courses_of(year)
    coming = [visit for course in courses for visit in course.visits.all() if visit.is_open()]
    histories = histories_of(plantings, year)
    around = Around(
        weather=weather_of(plantings[0], year.last_day()) if plantings else None,
        beside=beside_of(count for each in histories for count in each.counts),
    )
    shown = [_shown(each, _of_planting(coming, each.planting), around) for each in histories]
    coming.sort(key=lambda visit: visit.planned)
    return PlaceShown(year, end_of_earlier(year), shown, courses, coming)


def end_of_earlier(year: Year) -> date | None:
    """Return the day after the last one, before a year, on which anything was done or ended."""
    place, zone = year.place, year.place.zone()
    moments = {
        "scouted_at": ScoutingCount.objects.filter(planting__property=place),
        "done_at": ApplicationRecord.objects.current().filter(planting__property=place),
        "ended_at": place.courses.all(),
    }
    days = []
    for column, rows in moments.items():
        before = rows.filter(**{f"{column}__lt": year.begins()})
        if last := before.aggregate(last=Max(column))["last"]:
            days.append(last.astimezone(zone).date())
    elsewhere = EarlierApplication.objects.filter(planting__property=place)
    earlier = elsewhere.filter(applied_on__lt=year.first_day()).aggregate(last=Max("applied_on"))
    if earlier["last"]:
        days.append(earlier["last"])
    return max(days) + timedelta(days=1) if days else None


def courses_of(year: Year) -> list[Course]:
    """Return the courses of a year with visits, products and plantings, the last first.

    Those are shown that ended in it; in the year that ends now, those under way as well.
    """
    shown = year.within("ended_at") | (Q() if year.ended_on else Q(ended_at=None))
    visits = Visit.objects.select_related("rotation_week__product", "dispatch__crew")
    visits = visits.prefetch_related("holds", "rotation_week__product__contents__ingredient")
    found = (
        year.place.courses.filter(shown)
        .select_related("rotation__pest")
        .prefetch_related(
            "plantings",
            "rotation__weeks",
            Prefetch("visits", visits.order_by("rotation_week__week")),
        )
    )
    courses = list(found)
    for course in courses:
        course.property = year.place
        for visit in course.visits.all():
            visit.course = course
    return courses


def one_season(planting: Planting, pest: Pest, today: date) -> Season:
    """Return the season of one pest on one planting."""
    visits = Visit.objects.open().filter(course__plantings=planting)
    visits = visits.select_related("rotation_week__product", "course__rotation")
    visits = list(visits.prefetch_related("rotation_week__product__contents__ingredient"))
    (history,) = histories_of([planting], Year(planting.property, today))
    counts = _of_pest(history.counts_shown(), pest)
    outlook = _outlook(history, pest, visits, weather_of(planting, today))
    return _drawn(history, pest, counts, visits, outlook)


def histories_of(plantings: list[Planting], year: Year) -> list[History]:
    """Return what was counted and applied on each planting up to the end of a year."""
    counts: dict[int, list[ScoutingCount]] = defaultdict(list)
    by_key = {planting.pk: planting for planting in plantings}
    found = ScoutingCount.objects.filter(year.up_to_its_end("scouted_at"), planting__in=plantings)
    for count in found.select_related("pest").order_by("scouted_at"):
        count.planting = by_key[count.planting_id]
        counts[count.planting_id].append(count)
    records: dict[int, list[ApplicationRecord]] = defaultdict(list)
    applied = ApplicationRecord.objects.current().filter(planting__in=plantings)
    applied = applied.prefetch_related("product__contents__ingredient")
    of_old = applied.filter(done_at__lt=year.begins()).only(*OF_OLD)
    for record in [*applied.filter(year.within("done_at")), *of_old]:
        records[record.planting_id].append(record)
    return [History(each, year, counts[each.pk], records[each.pk]) for each in plantings]


def _of_planting(visits: Iterable[Visit], planting: Planting) -> list[Visit]:
    return [visit for visit in visits if planting in visit.course.plantings.all()]


def _of_pest(counts: Iterable[ScoutingCount], pest: Pest) -> list[ScoutingCount]:
    return [count for count in counts if count.pest_id == pest.pk]


def _shown(history: History, visits: list[Visit], around: Around) -> PlantingShown:
    planting = history.planting
    found = [count.pest for count in history.counts_shown()]
    found += [visit.course.rotation.pest for visit in visits]
    return PlantingShown(
        planting=planting,
        area_sq_ft=treated_area_of(planting),
        seasons=[_season(history, pest, visits, around) for pest in dict.fromkeys(found)],
        records=history.records_shown(),
        elsewhere=list(planting.earlier_applications.all()),
    )


def _season(history: History, pest: Pest, visits: list[Visit], around: Around) -> PestSeason:
    counts = _of_pest(history.counts_shown(), pest)
    told = judged(
        pest=pest,
        planting=history.planting,
        counts=_of_pest(history.counts, pest),
        records=history.records,
        heat=mite_heat(pest, around.weather),
        beside=around.beside,
    )
    outlook = _outlook(history, pest, visits, around.weather, told)
    first_day = history.year.first_day()
    return PestSeason(
        key=f"{history.planting.pk}-{pest.pk}",
        pest=pest,
        name=pest.name_in(get_language()),
        season=_drawn(history, pest, counts, visits, outlook),
        counts=counts[::-1],
        outlook=outlook,
        efficacy=[
            finding for each in reversed(told) if each.day >= first_day for finding in each.findings
        ],
    )


def _outlook(
    history: History,
    pest: Pest,
    visits: list[Visit],
    weather: LocalWeather | None,
    judgements: list[Judged] | None = None,
) -> Outlook:
    """Return where a pest is heading; nowhere in a year that is over."""
    if history.year.ended_on:
        return Outlook(None, None, ())
    return expected_on(
        history.planting,
        pest,
        counts=_of_pest(history.counts, pest),
        records=history.records,
        visits=visits,
        weather=weather,
        today=history.year.today,
        judgements=judgements,
    )


def _drawn(
    history: History,
    pest: Pest,
    counts: list[ScoutingCount],
    visits: list[Visit],
    outlook: Outlook,
) -> Season:
    return season_of(
        history.planting,
        pest,
        counts=counts,
        records=history.records_shown(),
        visits=visits,
        today=history.year.last_day(),
        outlook=outlook,
    )
