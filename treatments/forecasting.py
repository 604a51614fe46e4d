"""Where the pests that were counted on a planting are heading, with the visits planned."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clients.models import Habit, Planting
from treatments.gathering import groups_of
from treatments.models import Pest, Product, ScoutingCount
from treatments.rules.degree_days import HeatDay, WeatherMissing, carried_on, heat_of_days
from treatments.rules.efficacy import susceptibility
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.population import (
    MITE_HEAT,
    OUTDOORS,
    CountUnusable,
    Forecast,
    GrowthFactor,
    Kill,
    StageCounts,
    Treatment,
    combined,
    fit_growth,
    forecast,
    kill_of,
)
from treatments.rules.population.visits import COVERAGE
from treatments.weather import FARTHEST_MILES, LocalWeather

TWO_SPOTTED_MITE = "tetranychus urticae"  # the only pest with published parameters here
COVERAGE_INSIDE = 0.6  # inside dense boxwood or a hedge: common practice
OLDEST_COUNT_DAYS = 45  # an older count says nothing of today; this project's choice
OLDEST_WEATHER_DAYS = 14  # the same of temperatures
LEAST_HEAT = 30.0  # Celsius degree-days between two counts that tell growth; our choice
GROWTH_COUNTS = 6  # the last counts among which two without a spray between are looked for
KINDS = {"soap": "insecticidal soap", "oil": "mineral oil", "sulfur": "sulfur"}

NOT_PUBLISHED = gettext_noop(
    "No figures of how %(pest)s grows are published for this forecast: go by heat cues and counts."
)
NO_COUNT = gettext_noop("Nothing was counted on it in the last %(days)s days to forecast from.")
NOTHING_THERE = gettext_noop("The last count found none, so there is nothing to forecast.")
NO_WEATHER = gettext_noop(
    "No daily temperatures are known from %(day)s on within %(miles)s miles: take in a table."
)
KILL_UNKNOWN = gettext_noop(
    "What %(product)s does to mites is not in the table: its visits count for nothing here."
)
KILL_LOWERED = gettext_noop(
    "%(product)s did %(percent)s percent on %(day)s where about %(expected)s was to be expected: "
    "later visits of group %(group)s count here for %(part)s percent of their usual kill."
)
EGGS_SETTLED = gettext_noop(
    "No eggs were counted; as many are taken as stand beside so many mites where they are settled."
)


Told = tuple[tuple[Treatment, ...], tuple[Finding, ...]]  # treatments, and notes on them


@dataclass(frozen=True, slots=True)
class Spray:
    """A product on a planting on a day, made or planned; its contents are loaded."""

    day: date
    product: Product


@dataclass(frozen=True, slots=True)
class Measured:
    """What a visit was seen to do, in per cent, where it did far less than was to be expected."""

    day: date
    product: str
    group: str
    percent: float
    expected: float

    @property
    def part(self) -> float:
        """The part of its kill that the group has shown, from 0 to 1."""
        return susceptibility(self.percent, self.expected)


@dataclass(frozen=True, slots=True)
class Ground:
    """What a forecast rests on: counts a leaf on a first day, the heat from then on, growth."""

    counts: StageCounts
    days: tuple[HeatDay, ...]
    growth: GrowthFactor
    treatments: tuple[Treatment, ...]
    notes: tuple[Finding, ...] = ()

    def forecast(self) -> Forecast:
        """Return the forecast on this ground."""
        return forecast(self.counts, self.days, self.treatments, growth=self.growth)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Where a pest is heading on a planting; without a forecast the findings say why."""

    forecast: Forecast | None
    ground: Ground | None
    findings: tuple[Finding, ...]


def has_parameters(pest: Pest) -> bool:
    """Say whether the growth of a pest is published as far as a forecast needs."""
    return pest.scientific_name.strip().casefold() == TWO_SPOTTED_MITE


def outlook_of(
    *,
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    sprays: Sequence[Spray],
    weather: LocalWeather | None,
    today: date,
    until: date,
    poor: Sequence[Measured] = (),
) -> Outlook:
    """Return where a pest is heading from its last count on, to a last day.

    counts: of the pest on the planting, in order; sprays: made and planned, products loaded
    weather: of the place; days after the last known are like the mean of the last ones
    poor: visits that were seen to do too little, in order; later ones of their group count less
    """
    why_not = _why_not(pest, planting, counts, weather, today)
    if why_not or weather is None:
        return Outlook(None, None, (why_not,) if why_not else ())
    try:
        ground = _ground(planting, counts, treatments_of(sprays, planting, poor), weather, until)
    except WeatherMissing:
        first = _day_of(counts[-1], planting)
        return Outlook(None, None, (_no_weather(first),))
    seen = ground.forecast()
    return Outlook(seen, ground, (seen.sureness, *ground.notes, *seen.cautions))


def _why_not(
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    weather: LocalWeather | None,
    today: date,
) -> Finding | None:
    if not has_parameters(pest):
        return _note("growth-not-published", NOT_PUBLISHED, {"pest": str(pest)})
    oldest = today - timedelta(days=OLDEST_COUNT_DAYS)
    if not counts or _day_of(counts[-1], planting) < oldest:
        return _note("no-count", NO_COUNT, {"days": OLDEST_COUNT_DAYS})
    if not counts[-1].eggs + _motiles(counts[-1]):
        return _note("nothing-there", NOTHING_THERE, {})
    first = _day_of(counts[-1], planting)
    days = weather.days if weather else ()
    known = bool(days) and days[0].day <= first
    if not known or days[-1].day < today - timedelta(days=OLDEST_WEATHER_DAYS):
        return _no_weather(first)
    return None


def _no_weather(first: date) -> Finding:
    return _note("no-weather", NO_WEATHER, {"day": first, "miles": FARTHEST_MILES})


def _ground(
    planting: Planting,
    counts: Sequence[ScoutingCount],
    told: Told,
    weather: LocalWeather,
    until: date,
) -> Ground:
    last = counts[-1]
    first = _day_of(last, planting)
    heat = heat_around(weather, counts, first, max(until, first))
    treatments, notes = told
    if not last.eggs:
        notes = (*notes, _note("eggs-settled", EGGS_SETTLED, {}))
    return Ground(
        counts=stages_of(last),
        days=tuple(day for day in heat if first <= day.day <= until),
        growth=growth_of(planting, counts, treatments, heat),
        treatments=treatments,
        notes=notes,
    )


def heat_around(
    weather: LocalWeather, counts: Sequence[ScoutingCount], first: date, until: date
) -> tuple[HeatDay, ...]:
    """Return the heat from the count before the last, or from the last where a gap lies between.

    Raise WeatherMissing where a gap lies after the last count.
    """
    days = carried_on(weather.days, until)
    earlier = min((each.scouted_at.date() for each in counts[-GROWTH_COUNTS:]), default=first)
    try:
        return heat_of_days(days, MITE_HEAT, since=earlier - timedelta(days=1))
    except WeatherMissing:
        return heat_of_days([each for each in days if each.day >= first], MITE_HEAT)


def stages_of(count: ScoutingCount) -> StageCounts:
    """Return a count a leaf; what cannot have been told apart is left to the settled shares.

    Moving mites that all stand in one stage were counted together; where mites were found and no
    eggs, eggs were not looked for.
    """
    leaves = count.leaves_looked_at
    eggs = count.eggs / leaves if count.eggs else None
    stages = (count.larvae, count.nymphs, count.adults)
    if sum(stage > 0 for stage in stages) <= 1:
        return StageCounts(eggs=eggs, motiles=_motiles(count) / leaves)
    larvae, nymphs, adults = (stage / leaves for stage in stages)
    return StageCounts(eggs=eggs, larvae=larvae, nymphs=nymphs, adults=adults)


def treatments_of(
    sprays: Iterable[Spray], planting: Planting, poor: Sequence[Measured] = ()
) -> Told:
    """Return what sprays do to the mites, which of them nobody can tell, and which count less.

    poor: in order; the last one of a group before a spray tells which part of its kill is left
    """
    coverage = coverage_on(planting)
    treatments, unknown, lowered = [], {}, dict[str, Measured]()
    for spray in sorted(sprays, key=lambda each: each.day):
        kill = kill_of_product(spray.product)
        if kill is None:
            unknown[spray.product.name] = {"product": spray.product.name}
        else:
            seen = _seen_of(groups_of(spray.product), spray.day, poor)
            part = seen.part if seen else 1.0
            if seen:
                lowered[seen.group] = seen
            treatments.append(
                Treatment(spray.day, spray.product.name, kill, coverage, susceptibility=part)
            )
    notes = [_note("kill-unknown", KILL_UNKNOWN, facts) for facts in unknown.values()]
    notes += [_lowered(seen) for seen in lowered.values()]
    return tuple(treatments), tuple(notes)


def _seen_of(group: str, day: date, poor: Sequence[Measured]) -> Measured | None:
    before = [each for each in poor if each.group == group and each.day < day]
    return before[-1] if before else None


def _lowered(seen: Measured) -> Finding:
    facts = {
        "product": seen.product,
        "day": seen.day,
        "group": seen.group or "-",
        "percent": f"{seen.percent:.0f}",
        "expected": f"{seen.expected:.0f}",
        "part": f"{100 * seen.part:.0f}",
    }
    return _note("kill-lowered", KILL_LOWERED, facts)


def coverage_on(planting: Planting) -> float:
    """Return which part of the mites on a planting a spray reaches; common practice."""
    dense = planting.habit == Habit.HEDGE or planting.species.casefold().startswith("buxus")
    return COVERAGE_INSIDE if dense else COVERAGE


def kill_of_product(product: Product) -> Kill | None:
    """Return what a product does to mites that it hits, or None where nobody can tell."""
    ingredients = [content.ingredient for content in product.contents.all()]
    kills = [
        kill_of(each.name) or kill_of(KINDS.get(each.separation_class, "")) for each in ingredients
    ]
    known = [kill for kill in kills if kill is not None]
    return combined(known) if known else None


def growth_of(
    planting: Planting,
    counts: Sequence[ScoutingCount],
    treatments: Sequence[Treatment],
    heat: Sequence[HeatDay],
) -> GrowthFactor:
    """Return the growth that the last two counts without a spray between show, or the usual one."""
    lately = counts[-GROWTH_COUNTS:]
    for first, last in zip(lately[-2::-1], lately[:0:-1], strict=True):
        days = _day_of(first, planting), _day_of(last, planting)
        warmth = sum(each.heat for each in heat if days[0] <= each.day < days[1])
        if warmth < LEAST_HEAT or heat[0].day > days[0] or _acted(treatments, *days):
            continue
        try:
            return fit_growth(heat, _told(first, days[0]), _told(last, days[1]))
        except CountUnusable:
            continue  # one of them found none, which tells no rate
    return OUTDOORS


def _told(count: ScoutingCount, day: date) -> tuple[date, float, int]:
    return day, count.motiles_per_leaf(), _motiles(count)


def _acted(treatments: Iterable[Treatment], first: date, last: date) -> bool:
    return any(
        each.day < last and each.day + timedelta(days=each.kill.residual_days) >= first
        for each in treatments
    )


def _motiles(count: ScoutingCount) -> int:
    return count.larvae + count.nymphs + count.adults


def _day_of(count: ScoutingCount, planting: Planting) -> date:
    return count.scouted_at.astimezone(planting.property.zone()).date()


def _note(code: str, sentence: Marked, facts: Mapping[str, object]) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", facts, "common practice")
