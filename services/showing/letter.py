"""What a client is shown behind a link: when it is safe, what was done, what comes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.models import Client, Planting
from services.charting import PHONE_WIDTH, draw_season
from services.courses import local_day
from services.models import DayAsked, Estimate, Statement, Visit
from services.models.courses import VisitQuerySet
from services.printing.summaries import (
    keep_off_until,
    keep_off_words,
    season_of_client,
    standing_records,
)
from services.sheets.charts import as_svg
from treatments.models import Pest, ScoutingCount

LAST_VISITS = LAST_PAPERS = 12
STILL_TOLD = timedelta(days=7)  # after a visit its keeping-off still stands on the page


@dataclass(frozen=True, slots=True)
class Safe:
    """Whether people and pets may be on the treated plants of a visit again.

    until: None where only words are known
    """

    visit: Visit
    until: datetime | None
    words: str
    is_over: bool

    def zone(self):
        """Return the zone of the property."""
        return self.visit.course.property.zone()


@dataclass(frozen=True, slots=True)
class Made:
    """A visit that was made, in the words of the letter."""

    visit: Visit
    day: date
    lines: list[str]


@dataclass(frozen=True, slots=True)
class Coming:
    """A visit that comes, whether its day may be asked about, and what was asked already."""

    visit: Visit
    may_ask: bool
    asked: DayAsked | None


@dataclass(frozen=True, slots=True)
class Chart:
    """The counts of a pest on a planting, drawn."""

    planting: Planting
    pest: Pest
    svg: str


@dataclass(frozen=True, slots=True)
class Letter:
    """All that the client's page says."""

    safe: list[Safe]
    made: list[Made]
    coming: list[Coming]
    charts: list[Chart]
    proposed: list[Estimate]
    answered: list[Estimate]
    statements: list[Statement]


def letter_to(client: Client, now: datetime) -> Letter:
    """Return what the page of a client says, in the language that is spoken now."""
    visits = Visit.objects.filter(course__property__client=client).with_all_that_is_shown()
    done = visits.filter(state=Visit.State.COMPLETED).prefetch_related("records__amended_by")
    done = list(done.order_by("-completed_at")[:LAST_VISITS])
    return Letter(
        safe=[_safe(visit, now) for visit in done if visit.completed_at >= now - STILL_TOLD],
        made=[_made(visit) for visit in done],
        coming=list(_coming(visits, now)),
        charts=list(_charts(client, now)),
        proposed=list(_proposed(client, now)),
        answered=list(_answered(client)),
        statements=list(client.statements.order_by("-number")[:LAST_PAPERS]),
    )


def _answered(client: Client) -> Iterable[Estimate]:
    """Return the estimates that a client has accepted or declined, the newest first."""
    theirs = Estimate.objects.of_client(client).filter(answer__isnull=False)
    return theirs.select_related("property", "answer").order_by("-number")[:LAST_PAPERS]


def _proposed(client: Client, now: datetime) -> Iterable[Estimate]:
    """Yield the estimates that a client may still answer, by the property's day."""
    theirs = Estimate.objects.of_client(client).filter(answer__isnull=True)
    for estimate in theirs.select_related("property", "rotation__pest"):
        if now.astimezone(estimate.property.zone()).date() <= estimate.valid_until:
            yield estimate


def _coming(visits: VisitQuerySet, now: datetime) -> Iterable[Coming]:
    """Yield the open visits that may still be made on their days."""
    coming = list(visits.open().order_by("planned", "pk")[:LAST_VISITS])
    asked = {each.visit_id: each for each in DayAsked.objects.open().filter(visit__in=coming)}
    for visit in coming:
        if visit.latest >= now.astimezone(visit.course.property.zone()).date():
            may_ask = visit.state == Visit.State.NEEDS_ACTION
            yield Coming(visit, may_ask, asked.get(visit.pk))


def _safe(visit: Visit, now: datetime) -> Safe:
    records = standing_records(visit)
    until, words = keep_off_until(records), keep_off_words(records)
    if until is None and not words:
        words = _("We do not know yet when it is safe: call us before anybody is let back.")
    return Safe(visit, until, words, is_over=until is not None and until <= now)


def _made(visit: Visit) -> Made:
    return Made(visit, local_day(visit), list(_lines(visit)))


def _lines(visit: Visit) -> Iterable[str]:
    records = standing_records(visit)
    if not records:
        yield visit.rotation_week.get_step_display()
    pest = visit.course.rotation.pest.name_in(get_language())
    for record in records:
        facts = {
            "product": record.product_name,
            "active": record.active_ingredients,
            "number": record.epa_registration_number or "–",
            "planting": record.site_description.split(":")[0],
            "pest": pest,
        }
        sentence = _(
            "%(planting)s: %(product)s (%(active)s, EPA number %(number)s), against %(pest)s."
        )
        yield sentence % facts


def _charts(client: Client, now: datetime) -> Iterable[Chart]:
    """Yield the drawing of every planting and pest that was counted."""
    counted = ScoutingCount.objects.filter(planting__property__client=client)
    pairs = counted.order_by("planting", "pest").values_list("planting", "pest").distinct()
    plantings = Planting.objects.filter(property__client=client).select_related("property")
    by_id, pests = plantings.in_bulk(), Pest.objects.in_bulk()
    for planting_id, pest_id in pairs:
        planting, pest = by_id[planting_id], pests[pest_id]
        season = season_of_client(planting, pest, now)
        if season is not None:
            yield Chart(planting, pest, as_svg(draw_season(season, PHONE_WIDTH)))
