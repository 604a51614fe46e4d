"""The client's letter after a visit: when it is safe, what was done and why, what comes."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from django.utils import translation
from django.utils.translation import get_language, gettext_lazy, ngettext
from django.utils.translation import gettext as _

from clients.models import Planting
from services.charting import season_of
from services.expecting import expected_on, weather_of
from services.models import Visit
from services.printing.heads import log_head
from services.printing.imprints import imprint_for
from services.printing.places import unverified_name
from services.sheets.application_record import LogHead
from services.sheets.charts import Season
from services.sheets.client_summary import (
    ClientSummary,
    DoneLine,
    draw_client_summaries,
    draw_client_summary,
)
from services.sheets.dates import long_day, number
from treatments.models import ApplicationRecord, Pest, ScoutingCount

STAGE_WORDS = {
    "egg": gettext_lazy("eggs"),
    "larva": gettext_lazy("larvae"),
    "nymph": gettext_lazy("nymphs"),
    "adult": gettext_lazy("adults"),
}


def summary_pdf(visit: Visit, *, language: str | None = None, now: datetime | None = None) -> bytes:
    """Return the letter of a visit that was made, in the client's language.

    now: when it is printed; without it the moment of the last thing it tells, so that the same
    visit gives the same letter while nothing is added to the journal
    """
    spoken = language or visit.course.property.client.language
    with translation.override(spoken):
        return draw_client_summary(summary_of(visit, now, log_head()))


def summaries_pdf(visits: Iterable[Visit], *, language: str, now: datetime) -> bytes:
    """Return the letters of visits that were made, each in its client's language.

    language: of the feet of the pages
    """
    letters, head = [], log_head()
    for visit in visits:
        with translation.override(visit.course.property.client.language):
            letters.append(summary_of(visit, now, head))
    zone = letters[0].imprint.zone if letters else "UTC"
    return draw_client_summaries(letters, imprint_for(language, now, zone))


def summary_of(
    visit: Visit, now: datetime | None = None, head: LogHead | None = None
) -> ClientSummary:
    """Return what a client is told of a visit, in the language that is spoken now."""
    records = standing_records(visit)
    place, done_at = visit.course.property, _done_at(visit, records)
    told_at = max([done_at, *(record.received_at for record in records)])
    upcoming = next_visit(visit)
    return ClientSummary(
        imprint=imprint_for(get_language() or "en", now or told_at, place.time_zone),
        client=place.client.name,
        address=place.address(),
        done_at=done_at,
        keep_off_until=keep_off_until(records),
        keep_off_words=keep_off_words(records),
        sign_comes_down_at=_sign_until(records),
        done=tuple(_done_lines(visit, records)),
        why=_why(visit, done_at),
        expect=tuple(_expect(visit)),
        please=tuple(_please(visit, records)),
        next_visit_on=upcoming.planned if upcoming else None,
        next_visit_words=_next_words(upcoming),
        season=_season(visit, done_at),
        unverified_place=unverified_name(place),
        log_head=head,
    )


def standing_records(visit: Visit) -> list[ApplicationRecord]:
    """Return the records of a visit as they stand now: amended where they were, void ones out.

    What was prefetched as `records__amended_by` is read.
    """
    current = {(each := _standing(record)).pk: each for record in visit.records.all()}
    return [record for record in current.values() if not record.void]


def _standing(record: ApplicationRecord) -> ApplicationRecord:
    while (newer := getattr(record, "amended_by", None)) is not None:
        record = newer
    return record


def _done_at(visit: Visit, records: list[ApplicationRecord]) -> datetime:
    done = [record.done_at for record in records]
    return max(done) if done else visit.completed_at or visit.started_at or _noon(visit)


def _noon(visit: Visit) -> datetime:
    return datetime.combine(visit.planned, time(12), visit.course.property.zone())


def keep_off_until(records: Iterable[ApplicationRecord]) -> datetime | None:
    """Return when people and pets may be back by the hours of the labels, None without hours."""
    return max((each.reentry_at for each in records if each.reentry_at), default=None)


def keep_off_words(records: list[ApplicationRecord]) -> str:
    """Return what holds beside the hours; unknown is never told as safe."""
    if not records:
        return _("Nothing was sprayed; there is nothing to keep away from.")
    if any(not each.reentry_at and not each.reentry_words for each in records):
        return ""
    if any("dry" in each.reentry_words for each in records):
        if keep_off_until(records):
            return _("And in any case until the spray has dried.")
        return _("Keep people and pets off the treated plants until the spray has dried.")
    return ""


def _sign_until(records: list[ApplicationRecord]) -> datetime | None:
    return max((r.removal_at for r in records if r.posted_at and r.removal_at), default=None)


def _done_lines(visit: Visit, records: list[ApplicationRecord]) -> Iterable[DoneLine]:
    week = visit.rotation_week
    purpose = week.purpose and f"{week.purpose[:1].upper()}{week.purpose[1:].rstrip('.')}."
    if not records and week.product is None:
        for planting in visit.course.plantings.all():
            step = week.get_step_display()
            yield DoneLine(planting.name, step, "", "", purpose)
    for record in records:
        yield DoneLine(
            planting=record.site_description.split(":")[0],
            product=record.product_name,
            registration_number=record.epa_registration_number,
            active_ingredient=record.active_ingredients,
            purpose=purpose,
        )


def _why(visit: Visit, done_at: datetime) -> str:
    """Return what was found and what the treatment is against, in plain words."""
    pest = visit.course.rotation.pest
    name = pest.name_in(get_language())
    counts = pest.counts.filter(
        planting__in=visit.course.plantings.all(), scouted_at__lte=done_at
    ).order_by("-scouted_at")
    last = counts.first()
    if last is None:
        return _("We treat against %(pest)s.") % {"pest": name}
    day = last.scouted_at.astimezone(visit.course.property.zone())
    return _(
        "On %(day)s we found %(pest)s on %(infested)s of %(looked)s leaves; that is why we treat."
    ) % {
        "day": long_day(day, get_language() or "en"),
        "pest": name,
        "infested": last.leaves_infested,
        "looked": last.leaves_looked_at,
    }


def _expect(visit: Visit) -> Iterable[str]:
    """Yield what the client will see: which stages this step reaches, and what later ones do."""
    product = visit.rotation_week.product
    if product is None:
        return
    reached = {
        stage
        for content in product.contents.all()
        for stage in content.ingredient.stages_controlled
    }
    words = [str(name) for stage, name in STAGE_WORDS.items() if stage in reached]
    if words:
        yield _("This week's product reaches: %(stages)s.") % {"stages": ", ".join(words)}
    if next_visit(visit) is not None:
        yield _("What it does not reach is met by another product at the next visit.")
    yield _("Leaves that are marked already stay so; new ones should come clean.")


def _please(visit: Visit, records: list[ApplicationRecord]) -> Iterable[str]:
    products = [record.product for record in records]
    dry = [each.rainfast_hours for each in products if each.rainfast_hours is not None]
    if dry:
        hours = max(dry)
        words = ngettext(
            "Do not water the treated leaves for %(hours)s hour.",
            "Do not water the treated leaves for %(hours)s hours.",
            1 if hours == 1 else 2,
        )
        yield words % {"hours": number(hours)}
    for record in records:
        if record.planting.edible and record.product.preharvest_days is not None:
            yield _harvest(record)
    if records:
        yield _("Tell us if somebody in the house is sensitive to such products.")


def _harvest(record: ApplicationRecord) -> str:
    done = record.done_at.astimezone(record.planting.property.zone()).date()
    first = done + timedelta(days=record.product.preharvest_days or 0)
    return _("Harvest nothing from %(planting)s before %(day)s.") % {
        "planting": record.planting.name,
        "day": long_day(first, get_language() or "en"),
    }


def next_visit(visit: Visit) -> Visit | None:
    """Return the next visit of the course that is still to be made, or None."""
    later = visit.course.visits.open().filter(rotation_week__week__gt=visit.week)
    return later.select_related("rotation_week").order_by("rotation_week__week").first()


def _next_words(upcoming: Visit | None) -> str:
    if upcoming is None or upcoming.earliest == upcoming.latest:
        return ""
    language = get_language() or "en"
    return _("It may be any day from %(earliest)s to %(latest)s.") % {
        "earliest": long_day(upcoming.earliest, language),
        "latest": long_day(upcoming.latest, language),
    }


def _season(visit: Visit, done_at: datetime) -> Season | None:
    """Return the season of the planting that was counted most, as it stood when the visit ended."""
    pest, plantings = visit.course.rotation.pest, list(visit.course.plantings.all())
    counts = pest.counts.filter(planting__in=plantings, scouted_at__lte=done_at)
    by_planting = {
        planting: [
            count for count in counts.order_by("scouted_at") if count.planting_id == planting.pk
        ]
        for planting in plantings
    }
    planting = max(plantings, key=lambda each: len(by_planting[each]), default=None)
    if planting is None or not by_planting[planting]:
        return None
    planting.property = visit.course.property
    return _drawn(
        planting, pest, by_planting[planting], done_at, _coming(visit), _day(visit, done_at)
    )


def _drawn(
    planting: Planting,
    pest: Pest,
    counts: list[ScoutingCount],
    until: datetime,
    visits: list[Visit],
    today: date,
) -> Season:
    """Return a season with what is expected, as on the page."""
    known: dict = {"counts": counts, "visits": visits, "today": today}
    known["records"] = _applied_until(planting, until)
    outlook = expected_on(planting, pest, weather=weather_of(planting, today), **known)
    return season_of(planting, pest, outlook=outlook, **known)


def _applied_until(planting: Planting, done_at: datetime) -> list[ApplicationRecord]:
    records = ApplicationRecord.objects.current().filter(planting=planting, done_at__lte=done_at)
    records = records.prefetch_related("product__contents__ingredient")
    return list(records.order_by("done_at", "number"))


def _coming(visit: Visit) -> list[Visit]:
    later = visit.course.visits.open().filter(rotation_week__week__gt=visit.week)
    later = later.select_related("rotation_week__product")
    return list(later.prefetch_related("rotation_week__product__contents__ingredient"))


def _day(visit: Visit, moment: datetime) -> date:
    return moment.astimezone(visit.course.property.zone()).date()


def season_of_client(planting: Planting, pest: Pest, now: datetime) -> Season | None:
    """Return the season of a planting as a client sees it, or None where nothing was counted."""
    counts = list(planting.counts.filter(pest=pest, scouted_at__lte=now).order_by("scouted_at"))
    if not counts:
        return None
    coming = Visit.objects.open().filter(course__plantings=planting, course__rotation__pest=pest)
    coming = coming.select_related("rotation_week__product")
    visits = list(coming.prefetch_related("rotation_week__product__contents__ingredient"))
    today = now.astimezone(planting.property.zone()).date()
    return _drawn(planting, pest, counts, now, visits, today)
