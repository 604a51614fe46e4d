"""Watches over all properties how well each mode of action still works on each pest."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Max, QuerySet

from clients.models import Planting, Property
from treatments.gathering import product_facts
from treatments.judging import Judged, beside_of, judged
from treatments.looking import mite_heat, season_weather
from treatments.models import ApplicationRecord, Pest, ScoutingCount
from treatments.rules.resistance import modes_of_action
from treatments.weather import LocalWeather

SEASON = timedelta(days=365)
MOST_PLANTINGS = 300  # that were counted last; more would make the page wait


@dataclass(slots=True)
class GroupSeen:
    """What counts say of a mode of action on a pest: visits, poor ones, and where those were."""

    pest: Pest
    group: str
    visits: int = 0
    poor: list[tuple[date, Planting]] = field(default_factory=list)

    @property
    def properties(self) -> list[Property]:
        """The properties on which it did far less than was to be expected."""
        return list(dict.fromkeys(planting.property for _day, planting in self.poor))

    @property
    def is_suspected(self) -> bool:
        """Whether it failed on more than one property, so that one crew's work is not why."""
        return len(self.properties) > 1

    @property
    def last_poor(self) -> date | None:
        """The last day of a poor visit."""
        return max((day for day, _planting in self.poor), default=None)


def watch_resistance(plantings: QuerySet[Planting], today: date) -> tuple[list[GroupSeen], bool]:
    """Return how each mode of action did on each pest in a year, the worst first.

    Also say whether plantings were left out.  A fixed number of queries, and those of the weather
    of each property.
    """
    since = today - SEASON
    counted = plantings.filter(counts__scouted_at__date__gte=since)
    newest = counted.annotate(last=Max("counts__scouted_at")).order_by("-last", "pk")
    looked_at = list(newest.select_related("property")[: MOST_PLANTINGS + 1])
    shown = looked_at[:MOST_PLANTINGS]
    rows = list(_rows(shown, since, today).values())
    rows.sort(key=lambda row: (-len(row.properties), -len(row.poor), -row.visits, row.group))
    return rows, len(looked_at) > MOST_PLANTINGS


def _rows(
    plantings: Sequence[Planting], since: date, today: date
) -> Mapping[tuple[int, str], GroupSeen]:
    counts, records = _counts_of(plantings, since), _records_of(plantings, since)
    beside = beside_of(count for theirs in counts.values() for count in theirs)
    weather: dict[int, LocalWeather | None] = {}
    rows: dict[tuple[int, str], GroupSeen] = {}
    for planting in plantings:
        if planting.property_id not in weather:
            weather[planting.property_id] = season_weather(planting, today)
        for pest, theirs in _by_pest(counts[planting.pk]).items():
            told = judged(
                pest=pest,
                planting=planting,
                counts=theirs,
                records=records[planting.pk],
                heat=mite_heat(pest, weather[planting.property_id]),
                beside=beside,
            )
            _add(rows, pest, planting, told)
    return rows


def _add(
    rows: dict[tuple[int, str], GroupSeen], pest: Pest, planting: Planting, told: Iterable[Judged]
) -> None:
    for each in told:
        if each.expected is None:
            continue
        groups = {
            group for product in each.products for group in modes_of_action(product_facts(product))
        }
        for group in groups:
            row = rows.setdefault((pest.pk, group), GroupSeen(pest, group))
            row.visits += 1
            if each.is_poor:
                row.poor.append((each.day, planting))


def _counts_of(plantings: Sequence[Planting], since: date) -> dict[int, list[ScoutingCount]]:
    by_key = {planting.pk: planting for planting in plantings}
    found: dict[int, list[ScoutingCount]] = defaultdict(list)
    rows = ScoutingCount.objects.filter(planting__in=plantings, scouted_at__date__gte=since)
    for count in rows.select_related("pest").order_by("scouted_at"):
        count.planting = by_key[count.planting_id]
        found[count.planting_id].append(count)
    return found


def _records_of(plantings: Sequence[Planting], since: date) -> dict[int, list[ApplicationRecord]]:
    found: dict[int, list[ApplicationRecord]] = defaultdict(list)
    rows = ApplicationRecord.objects.current().filter(
        planting__in=plantings, started_at__date__gte=since
    )
    for record in rows.prefetch_related("product__contents__ingredient").order_by("started_at"):
        found[record.planting_id].append(record)
    return found


def _by_pest(counts: Iterable[ScoutingCount]) -> dict[Pest, list[ScoutingCount]]:
    found: dict[Pest, list[ScoutingCount]] = defaultdict(list)
    for count in counts:
        found[count.pest].append(count)
    return found
