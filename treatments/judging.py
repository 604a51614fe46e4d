"""What each treatment did to the pests on a planting, from the counts before and after it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import exp

from clients.models import Planting
from treatments.forecasting import Measured, coverage_on, has_parameters, kill_of_product
from treatments.gathering import groups_of, local_day
from treatments.models import ApplicationRecord, Pest, Product, ScoutingCount
from treatments.rules.degree_days import HeatDay
from treatments.rules.efficacy import (
    PHYSICAL_GROUPS,
    Counts,
    abbott,
    change_percent,
    expected_percent,
    henderson_tilton,
    too_little,
)
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.population import OUTDOORS, combined
from treatments.rules.population.parameters import GROWTH_PER_HEAT

BEFORE_DAYS = 10  # a count older than this tells nothing of the day of the visit; our choice
AFTER_DAYS = 14  # later than this others have moved in; our choice
BESIDE_DAYS = 3  # how far the counts of an untreated planting may lie off; our choice
BROAD_GROUPS = {"1", "3", "4"}  # organophosphates, pyrethroids, neonicotinoids

HELD_BY_ABBOTT = gettext_noop(
    "%(product)s: %(percent)s percent control after %(day)s, by Abbott's formula against "
    "%(beside)s, which was not treated and not counted before."
)
HELD_BY_HENDERSON = gettext_noop(
    "%(product)s: %(percent)s percent control after %(day)s, by Henderson and Tilton's formula "
    "against %(beside)s, which was not treated."
)
ONLY_CHANGE = gettext_noop(
    "%(product)s: a change of %(percent)s percent from %(first)s to %(last)s. Without untreated "
    "plants beside it, nobody knows how much of that the weather did."
)


@dataclass(frozen=True, slots=True)
class Judged:
    """What one visit did: the products, how much by which formula, and what that says.

    percent: control where it was held against an untreated planting, else the change
    expected: per cent, in the same sense; None where nobody can tell
    """

    day: date
    products: tuple[Product, ...]
    group: str
    percent: float
    expected: float | None
    findings: tuple[Finding, ...]

    @property
    def is_poor(self) -> bool:
        """Whether it did far less than was to be expected."""
        return any(finding.severity is Severity.WARNING for finding in self.findings)

    @property
    def is_contact(self) -> bool:
        """Whether nothing but soap or oil was used."""
        return set(self.group.split(" + ")) <= PHYSICAL_GROUPS

    @property
    def is_broad(self) -> bool:
        """Whether one of the products kills natural enemies along with the pest."""
        return any(group[:1] in BROAD_GROUPS for group in self.group.split(" + ") if group != "10")


@dataclass(frozen=True, slots=True)
class Beside:
    """Untreated plantings that counts are held against: their counts and when they were sprayed."""

    counts: Mapping[int, Sequence[ScoutingCount]]
    sprayed: Mapping[int, Sequence[date]]
    names: Mapping[int, str]

    def counted_near(self, planting_id: int, day: date) -> ScoutingCount | None:
        """Return the count of a planting nearest to a day."""
        near = [
            (abs((_day(count) - day).days), count) for count in self.counts.get(planting_id, ())
        ]
        near = [pair for pair in near if pair[0] <= BESIDE_DAYS]
        return min(near, key=lambda pair: pair[0])[1] if near else None

    def was_left(self, planting_id: int, first: date, last: date) -> bool:
        """Say whether a planting was not sprayed shortly before or between two days."""
        since = first - timedelta(days=AFTER_DAYS)
        return not any(since <= day <= last for day in self.sprayed.get(planting_id, ()))


def beside_of(counts: Iterable[ScoutingCount]) -> Beside:
    """Load the untreated plantings that counts name: in two queries, or in none without names."""
    named = {count.untreated_reference_id for count in counts} - {None}
    by_planting: dict[int, list[ScoutingCount]] = defaultdict(list)
    sprayed: dict[int, list[date]] = defaultdict(list)
    if not named:
        return Beside({}, {}, {})
    found = ScoutingCount.objects.filter(planting__in=named).select_related("planting__property")
    for count in found.order_by("scouted_at"):
        by_planting[count.planting_id].append(count)
    for record in ApplicationRecord.objects.current().filter(planting__in=named):
        sprayed[record.planting_id].append(local_day(record))
    names = {key: counts[0].planting.name for key, counts in by_planting.items()}
    return Beside(by_planting, sprayed, names)


def judged(
    *,
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    records: Iterable[ApplicationRecord],
    heat: Sequence[HeatDay] = (),
    beside: Beside | None = None,
) -> list[Judged]:
    """Return what each visit did to a pest on a planting, in order, as far as counts tell it.

    counts: of the pest on the planting, in order
    records: current ones of the planting, products loaded with their contents
    heat: of the season by MITE_HEAT, to tell regrowth where there is no untreated planting
    beside: the untreated plantings that counts name, where they are loaded already
    """
    told: list[Judged] = []
    known = beside_of(counts) if beside is None else beside
    visits = _visits(records)
    for number, visit in enumerate(visits):
        next_at = visits[number + 1][0].started_at if number + 1 < len(visits) else None
        pair = _counts_around(visit, next_at, counts)
        if pair is not None and pair[0].motiles_per_leaf():
            poor = sum(each.is_poor and each.group == _groups(visit) for each in told)
            told.append(_judge(pest, planting, visit, pair, heat, known, poor))
    return told


def measured_poor(judgements: Iterable[Judged]) -> list[Measured]:
    """Return the visits that did far less than was to be expected, as forecasts are given them."""
    return [
        Measured(
            each.day,
            " + ".join(product.name for product in each.products),
            each.group,
            each.percent,
            each.expected,
        )
        for each in judgements
        if each.is_poor and each.expected
    ]


def _visits(records: Iterable[ApplicationRecord]) -> list[list[ApplicationRecord]]:
    by_day: dict[date, list[ApplicationRecord]] = defaultdict(list)
    for record in sorted(records, key=lambda each: each.started_at):
        by_day[local_day(record)].append(record)
    return list(by_day.values())


def _counts_around(
    visit: Sequence[ApplicationRecord], next_at: datetime | None, counts: Sequence[ScoutingCount]
) -> tuple[ScoutingCount, ScoutingCount] | None:
    started, done = visit[0].started_at, visit[-1].done_at
    since, until = started - timedelta(days=BEFORE_DAYS), done + timedelta(days=AFTER_DAYS)
    until = min(until, next_at) if next_at else until
    before = [count for count in counts if since <= count.scouted_at <= started]
    after = [count for count in counts if done < count.scouted_at <= until]
    return (before[-1], after[-1]) if before and after else None


def _groups(visit: Sequence[ApplicationRecord]) -> str:
    return " + ".join(sorted({groups_of(record.product) for record in visit}))


def _judge(
    pest: Pest,
    planting: Planting,
    visit: Sequence[ApplicationRecord],
    pair: tuple[ScoutingCount, ScoutingCount],
    heat: Sequence[HeatDay],
    beside: Beside,
    poor_before: int,
) -> Judged:
    products = tuple(record.product for record in visit)
    name, group = " + ".join(each.name for each in products), _groups(visit)
    percent, said = _control(name, pair, beside, local_day(visit[0]))
    is_change = said.code == "change"
    expected = _expected(pest, planting, products, pair, heat, is_change=is_change)
    warning = None
    if expected is not None and expected > 0:
        groups = group.split(" + ")
        warning = too_little(name, groups, percent, expected, poor_before=poor_before)
    findings = (said, warning) if warning else (said,)
    return Judged(local_day(visit[0]), products, group, percent, expected, findings)


def _control(
    name: str, pair: tuple[ScoutingCount, ScoutingCount], beside: Beside, treated_on: date
) -> tuple[float, Finding]:
    before, after = (count.motiles_per_leaf() for count in pair)
    first, last = (_day(count) for count in pair)
    facts: dict[str, object] = {"product": name, "day": treated_on, "first": first, "last": last}
    key = pair[1].untreated_reference_id or pair[0].untreated_reference_id
    left = beside.counted_near(key, last) if key and beside.was_left(key, first, last) else None
    if key is None or left is None or not left.motiles_per_leaf():
        percent = change_percent(before, after)
        return percent, _note("change", ONLY_CHANGE, facts | {"percent": f"{percent:.0f}"})
    facts["beside"] = beside.names[key]
    start = beside.counted_near(key, first)
    if start is not None and start.motiles_per_leaf():
        four = Counts(before, after, start.motiles_per_leaf(), left.motiles_per_leaf())
        percent = henderson_tilton(four)
        facts["percent"] = f"{percent:.0f}"
        return percent, _note("control", HELD_BY_HENDERSON, facts, "JEE-48")
    percent = abbott(left.motiles_per_leaf(), after)
    facts["percent"] = f"{percent:.0f}"
    return percent, _note("control", HELD_BY_ABBOTT, facts, "JEE-18")


def _expected(
    pest: Pest,
    planting: Planting,
    products: Sequence[Product],
    pair: tuple[ScoutingCount, ScoutingCount],
    heat: Sequence[HeatDay],
    *,
    is_change: bool,
) -> float | None:
    """Return the per cent to be expected; of a plain change what has grown again is taken off.

    None for pests without figures, for products that nobody can tell, and of a change where the
    heat between the counts is not known.
    """
    kills = [kill for kill in map(kill_of_product, products) if kill is not None]
    if not has_parameters(pest) or not kills:
        return None
    percent = expected_percent(combined(kills), coverage_on(planting))
    if not is_change:
        return percent
    first, last = (_day(count) for count in pair)
    between = [each for each in heat if first <= each.day < last]
    if len(between) < (last - first).days:
        return None
    rate = OUTDOORS.likely * GROWTH_PER_HEAT
    grown = exp(rate * sum(each.heat for each in between))
    return 100 - (100 - percent) * grown


def _day(count: ScoutingCount) -> date:
    return count.scouted_at.astimezone(count.planting.property.zone()).date()


def _note(
    code: str, sentence: str, facts: Mapping[str, object], source: str = "common practice"
) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", dict(facts), source)
