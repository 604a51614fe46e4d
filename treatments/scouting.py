"""Counts of pests: kept, put in a row for charts, and held against the threshold."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import get_language

from clients.models import Planting
from treatments.models import Pest, ScoutingCount
from treatments.rules.findings import Finding, Severity, gettext_noop

FELL = gettext_noop(
    "%(pest)s fell by %(percent)s %% since the first count. Without untreated plants beside it, "
    "nobody knows how much of that the weather did."
)
ROSE = gettext_noop("%(pest)s rose by %(percent)s %% since the first count.")
STAYED = gettext_noop("%(pest)s stayed as it was at the first count.")
OVER = gettext_noop("%(pest)s: %(count)s a leaf, at or over the threshold of %(threshold)s.")
UNDER = gettext_noop("%(pest)s: %(count)s a leaf, under the threshold of %(threshold)s.")
NO_THRESHOLD = gettext_noop("%(pest)s: %(count)s a leaf; no threshold is known.")
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class CountedDay:
    """What was counted on a day, a leaf looked at, by the clock of the place."""

    day: date
    motiles_per_leaf: Decimal
    eggs_per_leaf: Decimal
    predators_per_leaf: Decimal
    infested_percent: Decimal


@dataclass(frozen=True, slots=True)
class CountSeries:
    """The counts of one pest on a planting in the order of their days."""

    pest: Pest
    threshold: Decimal | None
    days: tuple[CountedDay, ...]


@transaction.atomic
def record_count(
    *,
    planting: Planting,
    pest: Pest,
    scouted_at: datetime,
    scouted_by: Any,
    leaves_looked_at: int,
    leaves_infested: int,
    eggs: int = 0,
    larvae: int = 0,
    nymphs: int = 0,
    adults: int = 0,
    predators: int = 0,
    note: str = "",
    untreated_reference: Planting | None = None,
) -> ScoutingCount:
    """Keep a count; the same count told twice is kept once.

    untreated_reference: a planting with the pest that is not sprayed, to hold treatments against
    """
    count = ScoutingCount(
        planting=planting,
        pest=pest,
        scouted_at=scouted_at,
        scouted_by=scouted_by,
        leaves_looked_at=leaves_looked_at,
        leaves_infested=leaves_infested,
        eggs=eggs,
        larvae=larvae,
        nymphs=nymphs,
        adults=adults,
        predators=predators,
        note=note,
        untreated_reference=untreated_reference,
    )
    if known := _told_before(count):
        return known
    count.full_clean()
    count.save()
    return count


def _told_before(count: ScoutingCount) -> ScoutingCount | None:
    told = {
        field.name: getattr(count, field.name)
        for field in ScoutingCount._meta.concrete_fields
        if field.name not in ("id", "scouted_by")
    }
    return ScoutingCount.objects.filter(**told).first()


def counted_day(count: ScoutingCount) -> CountedDay:
    """Return a count a leaf, on the day by the clock of its place."""
    motiles = count.larvae + count.nymphs + count.adults
    return CountedDay(
        day=count.scouted_at.astimezone(count.planting.property.zone()).date(),
        motiles_per_leaf=_a_leaf(motiles, count),
        eggs_per_leaf=_a_leaf(count.eggs, count),
        predators_per_leaf=_a_leaf(count.predators, count),
        infested_percent=_a_leaf(100 * count.leaves_infested, count),
    )


def _a_leaf(number: int, count: ScoutingCount) -> Decimal:
    return (Decimal(number) / count.leaves_looked_at).quantize(HUNDREDTH)


def change_since_first(series: CountSeries) -> Finding | None:
    """Return how far the pest fell or rose from the first count to the last, in words.

    None where there are fewer than two counts, or nothing was there at the first.  It is a plain
    per cent: a true efficacy needs an untreated reference.
    """
    if len(series.days) < 2 or not series.days[0].motiles_per_leaf:
        return None
    first, last = series.days[0].motiles_per_leaf, series.days[-1].motiles_per_leaf
    percent = ((last - first) / first * 100).quantize(Decimal(1))
    facts = {"pest": series.pest.name_in(get_language()), "percent": abs(percent)}
    code, sentence = ("fell", FELL) if percent < 0 else ("rose", ROSE)
    if percent == 0:
        code, sentence = "stayed", STAYED
    return Finding(code, Severity.NOTE, sentence, "", facts, "common practice")


def against_threshold(series: CountSeries) -> Finding | None:
    """Return whether the last count is over the pest's threshold; at it counts as over."""
    if not series.days:
        return None
    count, threshold = series.days[-1].motiles_per_leaf, series.threshold
    facts = {"pest": series.pest.name_in(get_language()), "count": count, "threshold": threshold}
    source = series.pest.threshold_source or "common practice"
    if threshold is None:
        return Finding("no-threshold", Severity.NOTE, NO_THRESHOLD, "", facts, source)
    if count >= threshold:
        return Finding("over-threshold", Severity.WARNING, OVER, "", facts, source)
    return Finding("under-threshold", Severity.NOTE, UNDER, "", facts, source)
