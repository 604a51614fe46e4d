"""Gathers what the drawings need from the models: seasons, plans of plantings, days of crews."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import takewhile
from zoneinfo import ZoneInfo

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.models import Habit, Planting
from services.courses import NoHours, is_at_dusk, spray_windows
from services.models import Dispatch, Visit
from services.sheets.charts import (
    Count,
    DayRun,
    Expected,
    Figure,
    PlantingShape,
    RunStop,
    Season,
    Span,
    Treatment,
    Window,
    height_for,
    plan_figure,
    season_figure,
)
from services.sheets.charts.day import ACCESS, DUSK
from treatments.forecasting import Outlook
from treatments.gathering import groups_shown, local_day
from treatments.models import ApplicationRecord, Pest, ScoutingCount
from treatments.rules.pollinators import next_on
from treatments.rules.population import Forecast

WIDTH = 640  # points; the drawings are scaled to the page
NARROW = 280  # for a phone, where their letters stay large enough to be read
PHONE_WIDTH = 246  # of what a phone shows a third larger
FIELD = 134  # of the counts of a season
MARGIN_DAYS = 7  # shown before the first and after the last thing of a season
SEASON_DAYS = 365


def draw_plan(plantings: Iterable[Planting], width: float = WIDTH) -> Figure:
    """Return the plantings of a property as a drawing."""
    return plan_figure(tuple(map(shape_of, plantings)), get_language(), width=width)


def draw_season(season: Season, width: float = WIDTH) -> Figure:
    """Return a season as a drawing, as high as its products ask for."""
    height = height_for(season, FIELD, width)
    return season_figure(season, get_language(), width=width, height=height)


def run_of(dispatch: Dispatch) -> DayRun:
    """Return a crew's way through its day, in the zone of the yard."""
    yard = dispatch.crew.yard
    zone = yard.zone()
    visits = {visit.pk: visit for visit in dispatch.visits.all()}
    return DayRun(
        crew=dispatch.crew.name,
        yard=yard.name,
        leaves_at=dispatch.leaves_yard_at.astimezone(zone),
        returns_at=dispatch.returns_at.astimezone(zone),
        stops=tuple(_stops(dispatch, visits, zone)),
    )


def shape_of(planting: Planting) -> PlantingShape:
    """Return a planting as it is drawn, with the sides that are sprayed."""
    return PlantingShape(
        name=planting.name,
        kind=planting.habit,
        length_ft=planting.length_ft,
        width_ft=planting.width_ft,
        height_ft=planting.height_ft,
        plants=planting.plants,
        faces=_faces(planting),
    )


def season_of(
    planting: Planting,
    pest: Pest,
    *,
    counts: Sequence[ScoutingCount],
    records: Sequence[ApplicationRecord],
    visits: Sequence[Visit],
    today: date,
    outlook: Outlook | None = None,
) -> Season:
    """Return the year of a planting with a pest: counted, treated, what is planned and expected.

    counts: of the pest on the planting, in order of their days
    visits: open ones of the planting, with the ingredients of their products
    outlook: where the pest is heading, if that was asked
    """
    zone = planting.property.zone()
    since = today - timedelta(days=SEASON_DAYS)
    counted = [
        Count(count.scouted_at.astimezone(zone).date(), _to_tenths(count.motiles_per_leaf()))
        for count in counts
    ]
    counted = [count for count in counted if count.day >= since]
    treated = [each for each in _treatments(records, visits) if each.day >= since]
    expected = curve_of(outlook.forecast) if outlook and outlook.forecast else ()
    days = [
        *(count.day for count in counted),
        *(each.day for each in treated),
        *(each.day for each in expected[-1:]),
    ] or [today]
    first, last = (
        min(days) - timedelta(days=MARGIN_DAYS),
        max(days) + timedelta(days=0 if expected else MARGIN_DAYS),
    )
    return Season(
        planting=planting.name,
        first=first,
        last=last,
        unit=_("%(pest)s: living pests a leaf, without eggs")
        % {"pest": pest.name_in(get_language())},
        counts=tuple(counted),
        treatments=tuple(treated),
        spans=(*_bloom(planting, first, last), *_kept_off(records, first)),
        expected=expected,
        threshold=pest.threshold,
    )


def curve_of(forecast: Forecast) -> tuple[Expected, ...]:
    """Return a forecast as it is drawn: moving pests a leaf, day by day."""
    return tuple(
        Expected(
            each.day,
            _to_tenths(each.motiles.low),
            _to_tenths(each.motiles.expected),
            _to_tenths(each.motiles.high),
        )
        for each in forecast.days
    )


def _stops(dispatch: Dispatch, visits: dict[int, Visit], zone: ZoneInfo) -> Iterable[RunStop]:
    arrived = dispatch.leaves_yard_at.astimezone(zone)
    for place, leg in enumerate(dispatch.legs):
        starts, ends = (datetime.fromisoformat(leg[end]).astimezone(zone) for end in LEG)
        visit = visits.get(leg.get("visit"))
        if visit is not None:
            name = visit.course.property.name
            yield RunStop(
                name,
                min(arrived, starts),
                starts,
                ends,
                _windows(visit, dispatch.day, zone),
                _drives_on(dispatch.legs[place + 1 :], ends),
            )
        if leg["kind"] != "wait":
            arrived = ends


LEG = ("from", "until")


def _drives_on(legs: Iterable[Mapping], ends: datetime) -> datetime:
    """Return when a crew drives on from a stop, given the legs that follow it."""
    before_the_next = takewhile(lambda leg: leg["kind"] != "work", legs)
    drives = (leg["from"] for leg in before_the_next if leg["kind"] == "travel")
    return datetime.fromisoformat(next(drives, ends.isoformat())).astimezone(ends.tzinfo)


def _windows(visit: Visit, day: date, zone: ZoneInfo) -> tuple[Window, ...]:
    kind = DUSK if is_at_dusk(visit, day) else ACCESS
    try:
        hours = spray_windows(visit, day)
    except NoHours:
        return ()
    return tuple(
        Window(opens.astimezone(zone), closes.astimezone(zone), kind) for opens, closes in hours
    )


def _faces(planting: Planting) -> tuple[str, ...]:
    if planting.habit != Habit.HEDGE:
        return ()
    sides = ("front", "back") if planting.faces == 2 else ("front",)
    return (*sides, "top") if planting.top_treated else sides


def _treatments(
    records: Iterable[ApplicationRecord], visits: Iterable[Visit]
) -> Iterable[Treatment]:
    applied = [
        Treatment(local_day(record), record.product_name, in_square(record.mode_of_action_groups))
        for record in records
    ]
    planned = [
        Treatment(visit.planned, product.name, in_square(groups_of_contents(product)), False)
        for visit in visits
        if (product := visit.rotation_week.product)
    ]
    return sorted([*applied, *planned], key=lambda each: each.day)


def in_square(groups: str) -> str:
    """Return modes of action as short as the mark on the drawing: the first, and + for more.

    The name of the scheme is left out; the table beside the drawing has it.
    """
    first, *others = groups.split(" + ")
    return first.removeprefix("FRAC ") + ("+" if others else "")


def groups_of_contents(product) -> str:
    """Return the modes of action of a product whose ingredients are loaded."""
    return groups_shown(content.ingredient for content in product.contents.all())


def _bloom(planting: Planting, first: date, last: date) -> Iterable[Span]:
    if not planting.bloom_start:
        return
    # The bloom that is on, or the next, and those after it.
    starts = next_on(first - timedelta(days=SEASON_DAYS - 1), planting.bloom_start)
    while starts <= last:
        ends = next_on(starts, planting.bloom_end)
        if ends >= first:
            yield Span(max(starts, first), min(ends, last), _("bloom"))
        starts = next_on(starts + timedelta(days=1), planting.bloom_start)


def _kept_off(records: Iterable[ApplicationRecord], first: date) -> Iterable[Span]:
    """Return the days of keeping off; only the first is named, or the names would overlap.

    Hours that end on the day itself are too few to be drawn.
    """
    name = _("keep off")
    for record in records:
        ends = record.reentry_at and record.reentry_at.astimezone(ZoneInfo(record.time_zone)).date()
        if ends and ends > local_day(record) >= first:
            yield Span(local_day(record), ends, name)
            name = ""


def _to_tenths(value: float) -> Decimal:
    return Decimal(f"{value:.1f}")
