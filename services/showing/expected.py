"""What is expected of a course on its plantings, before and after it is put on, and of a change."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.models import Planting, Property
from services.charting import NARROW, curve_of, draw_season, season_of
from services.courses import visits_to_be
from services.expecting import (
    day_expected,
    expected_on,
    number_of,
    weather_of,
    with_repeat,
    with_slip,
)
from services.following import course_so_far
from services.forms.what_if import SLIP, WhatIfForm
from services.models import Course, Visit
from services.sheets.charts import Season, as_svg
from treatments.forecasting import Ground, Outlook
from treatments.judging import Beside, beside_of, judged
from treatments.looking import made_sprays, mite_heat
from treatments.models import ApplicationRecord, Pest, Rotation, ScoutingCount
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.follow_up import Standing, follow_up
from treatments.rules.population import what_if
from treatments.warmth import Warmth, warmth_of
from treatments.weather import LocalWeather

BEYOND = gettext_noop("Week %(week)s may go until %(latest)s; %(day)s lies beyond it.")
NO_CHANGE = gettext_noop("Week %(week)s has nothing in the forecast that could be changed.")
ORDER_FIRST = 1
STANDING_WORDS = {
    Standing.UNKNOWN: gettext_noop("Nobody can tell yet whether it works."),
    Standing.WORKING: gettext_noop("It is working."),
    Standing.NOT_WORKING: gettext_noop("It is not working."),
    Standing.FINISHED: gettext_noop("It has done its work."),
}


@dataclass(frozen=True, slots=True)
class ExpectedShown:
    """What is expected on one planting of a course, drawn and in words.

    changed: what the change asked for does, in words; nothing where none was asked for
    """

    planting: Planting
    season: Season
    outlook: Outlook
    warmth: Warmth | None
    changed: tuple[Finding, ...]
    efficacy: tuple[Finding, ...]
    standing: Standing
    advice: tuple[Finding, ...]

    def standing_words(self) -> str:
        """Return how the course stands here, in words."""
        return _(STANDING_WORDS[self.standing])

    def svg(self) -> str:
        """Return the drawing as SVG text."""
        return mark_safe(as_svg(draw_season(self.season), f"expected-{self.planting.pk}"))

    def narrow_svg(self) -> str:
        """Return the same drawing for a phone."""
        return mark_safe(as_svg(draw_season(self.season, NARROW), f"narrow-{self.planting.pk}"))


@dataclass(frozen=True, slots=True)
class CourseExpected:
    """The plantings of a course with what is expected, and the form that asks for a change."""

    shown: list[ExpectedShown]
    form: WhatIfForm

    def may_ask(self) -> bool:
        """Say whether there is a forecast in which something still to come can be changed."""
        has_forecast = any(each.outlook.forecast for each in self.shown)
        return has_forecast and bool(self.form.weeks.choices)


@dataclass(frozen=True, slots=True)
class Known:
    """What a course's plantings share while their outlook is told."""

    pest: Pest
    visits: list[Visit]
    open_visits: list[Visit]
    weather: LocalWeather | None
    beside: Beside
    today: date


def expected_of(course: Course, today: date, query: Mapping[str, Any] | None) -> CourseExpected:
    """Return what is expected of a course, changed as a query asks, by fixed queries."""
    plantings = list(course.plantings.all())
    for planting in plantings:
        planting.property = course.property
    counts = _by_planting(_counts_of(course.rotation.pest, plantings))
    records = _by_planting(_records_of(plantings))
    known = _known(course.rotation.pest, plantings, counts, _visits_of(course), today)
    form = WhatIfForm(query, weeks=[visit.week for visit in known.visits if _sprays(visit)])
    asked = form.cleaned_data if form.is_valid() else None
    shown = [
        _shown(planting, counts[planting.pk], records[planting.pk], known, asked)
        for planting in plantings
    ]
    return CourseExpected(shown, form)


def expected_before(
    rotation: Rotation, plantings: Iterable[Planting], first_day: date, today: date
) -> list[ExpectedShown]:
    """Return what is expected where a rotation is put on plantings, of those with a count of late.

    It takes a fixed number of queries for each property.
    """
    by_place: dict[Property, list[Planting]] = defaultdict(list)
    for planting in plantings:
        by_place[planting.property].append(planting)
    return [
        each
        for place, theirs in by_place.items()
        for each in _expected_at(place, theirs, rotation, first_day, today)
        if each.outlook.forecast
    ]


def _expected_at(
    place: Property, plantings: list[Planting], rotation: Rotation, first_day: date, today: date
) -> list[ExpectedShown]:
    visits = visits_to_be(Course(property=place, rotation=rotation, first_day=first_day))
    counts = _by_planting(_counts_of(rotation.pest, plantings))
    records = _by_planting(_records_of(plantings))
    known = _known(rotation.pest, plantings, counts, visits, today)
    return [
        _shown(planting, counts[planting.pk], records[planting.pk], known, None, visits)
        for planting in plantings
    ]


def _known(
    pest: Pest,
    plantings: list[Planting],
    counts: Mapping[int, list[ScoutingCount]],
    visits: list[Visit],
    today: date,
) -> Known:
    return Known(
        pest=pest,
        visits=visits,
        open_visits=_open_on(plantings),
        weather=weather_of(plantings[0], today) if plantings else None,
        beside=beside_of(each for theirs in counts.values() for each in theirs),
        today=today,
    )


def _sprays(visit: Visit) -> bool:
    return visit.is_open() and visit.rotation_week.product_id is not None


def _counts_of(pest: Pest, plantings: list[Planting]) -> list[ScoutingCount]:
    by_key = {planting.pk: planting for planting in plantings}
    found = pest.counts.filter(planting__in=plantings).order_by("scouted_at")
    counts = list(found)
    for count in counts:
        count.planting, count.pest = by_key[count.planting_id], pest
    return counts


def _records_of(plantings: list[Planting]) -> list[ApplicationRecord]:
    found = ApplicationRecord.objects.current().filter(planting__in=plantings)
    return list(found.prefetch_related("product__contents__ingredient").order_by("done_at"))


def _by_planting(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.planting_id].append(row)
    return found


def _visits_of(course: Course) -> list[Visit]:
    visits = course.visits.select_related("rotation_week__product")
    return list(visits.order_by("rotation_week__week"))


def _open_on(plantings: list[Planting]) -> list[Visit]:
    """Return the open visits to plantings, also of their other courses."""
    visits = Visit.objects.open().filter(course__plantings__in=plantings).distinct()
    visits = visits.select_related("rotation_week__product", "course")
    contents = "rotation_week__product__contents__ingredient"
    return list(visits.prefetch_related(contents, "course__plantings"))


def _shown(
    planting: Planting,
    counts: list[ScoutingCount],
    records: list[ApplicationRecord],
    known: Known,
    asked: Mapping[str, Any] | None,
    to_be: Sequence[Visit] = (),
) -> ExpectedShown:
    """Tell of one planting; `to_be` are visits that are not in the book yet."""
    pest = known.pest
    visits = [each for each in known.open_visits if planting in each.course.plantings.all()]
    visits += to_be
    told: dict = {"counts": counts, "records": records, "visits": visits, "today": known.today}
    outlook = expected_on(planting, pest, weather=known.weather, **told)
    season = season_of(planting, pest, outlook=outlook, **told)
    changed: tuple[Finding, ...] = ()
    if asked and outlook.ground:
        season, changed = _changed(season, outlook.ground, known, asked)
    judgements = judged(
        pest=pest,
        planting=planting,
        counts=counts,
        records=records,
        heat=mite_heat(pest, known.weather),
        beside=known.beside,
    )
    so_far = course_so_far(pest, counts, known.visits, judgements, outlook, known.today)
    standing, advice = follow_up(so_far)
    return ExpectedShown(
        planting=planting,
        season=season,
        outlook=outlook,
        warmth=_warmth(planting, counts, records, known),
        changed=changed,
        efficacy=tuple(finding for each in reversed(judgements) for finding in each.findings),
        standing=standing,
        advice=tuple(advice),
    )


def _warmth(
    planting: Planting,
    counts: list[ScoutingCount],
    records: list[ApplicationRecord],
    known: Known,
) -> Warmth | None:
    return warmth_of(
        pest=known.pest,
        planting=planting,
        counts=counts,
        sprays=made_sprays(records),
        weather=known.weather,
        today=known.today,
    )


def _changed(
    season: Season, ground: Ground, known: Known, asked: Mapping[str, Any]
) -> tuple[Season, tuple[Finding, ...]]:
    """Return the season with the curve of a change beside it, and in words what it does."""
    visit = next(each for each in known.visits if each.week == asked["week"])
    number = number_of(ground, visit, known.today)
    is_slip = asked["change"] == SLIP
    if number is None or (not is_slip and number == ORDER_FIRST):
        return season, (_note("no-change", NO_CHANGE, {"week": visit.week}),)
    if is_slip:
        other = with_slip(ground, number, asked["days"], later_too=asked["later_too"])
    else:
        other = with_repeat(ground, number)
    plans = {
        _("the plan as it stands"): ground.treatments,
        _name_of(visit, asked, is_slip): other.treatments,
    }
    _base, compared = what_if(ground.counts, ground.days, plans, growth=ground.growth)
    drawn = replace(season, otherwise=curve_of(other.forecast()))
    return drawn, (compared.finding, *_beyond(visit, known, asked, is_slip))


def _name_of(visit: Visit, asked: Mapping[str, Any], is_slip: bool) -> str:
    facts = {"week": visit.week, "days": asked["days"]}
    if not is_slip:
        return _("Week %(week)s with the product before it again") % facts
    if asked["later_too"]:
        words = ngettext(
            "Week %(week)s and those after it %(days)s day later",
            "Week %(week)s and those after it %(days)s days later",
            asked["days"],
        )
    else:
        words = ngettext(
            "Week %(week)s %(days)s day later", "Week %(week)s %(days)s days later", asked["days"]
        )
    return words % facts


def _beyond(
    visit: Visit, known: Known, asked: Mapping[str, Any], is_slip: bool
) -> tuple[Finding, ...]:
    if not is_slip:
        return ()
    day = day_expected(visit, known.today) + timedelta(days=asked["days"])
    if day <= visit.latest:
        return ()
    facts = {"week": visit.week, "latest": visit.latest, "day": day}
    return (_note("beyond-latest", BEYOND, facts),)


def _note(code: str, sentence: str, facts: dict[str, object]) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", facts, "common practice")
