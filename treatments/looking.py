"""All that counts, weather and records say of the pests on a planting, gathered once."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch

from clients.models import Planting
from treatments.checking import taken_over
from treatments.forecasting import Outlook, Spray, has_parameters, outlook_of
from treatments.gathering import local_day, with_labels
from treatments.judging import Beside, Judged, beside_of, judged, measured_poor
from treatments.laddering import Steps, steps_for
from treatments.models import ApplicationRecord, Pest, Product, ScoutingCount
from treatments.rules.degree_days import HeatDay, WeatherMissing, heat_of_days
from treatments.rules.facts import PastApplication
from treatments.rules.findings import Finding
from treatments.rules.population import MITE_HEAT
from treatments.sampling_plans import presence_told
from treatments.warmth import Warmth, warmth_of
from treatments.weather import LocalWeather, weather_near

AHEAD_DAYS = 28  # so far the outlook without further visits reaches; this project's choice


@dataclass(frozen=True, slots=True)
class PestLook:
    """What is known of one pest on a planting.

    outlook: without any further visit
    """

    pest: Pest
    counts: tuple[ScoutingCount, ...]
    judgements: tuple[Judged, ...]
    presence: Finding | None
    warmth: Warmth | None
    outlook: Outlook
    steps: Steps

    def efficacy(self) -> list[Finding]:
        """Return what the visits did, the last first."""
        return [finding for each in reversed(self.judgements) for finding in each.findings]


def season_weather(planting: Planting, today: date) -> LocalWeather | None:
    """Return the temperatures near a planting that a season's heat and outlook need."""
    return weather_near(planting.property, *season_of_weather(today))


def season_of_weather(today: date) -> tuple[date, date]:
    """Return the first and last day of temperatures that matter on a day."""
    first = min(date(today.year, 1, 1), today - timedelta(days=240))
    return first, today + timedelta(days=AHEAD_DAYS)


def records_with_labels(planting: Planting) -> list[ApplicationRecord]:
    """Return the current records of a planting in order, products with all their labels say."""
    products = Prefetch("product", with_labels(Product.objects.all()))
    found = ApplicationRecord.objects.current().filter(planting=planting)
    return list(found.prefetch_related(products).order_by("done_at", "number"))


def made_sprays(records: Iterable[ApplicationRecord]) -> list[Spray]:
    """Return what was applied, as forecasts are given it; products are loaded with contents."""
    return [Spray(local_day(record), record.product) for record in records]


def look_at_planting(planting: Planting, today: date) -> list[PestLook]:
    """Return what is known of each pest that was counted on a planting."""
    counts = planting.counts.select_related("pest", "scouted_by", "planting__property")
    by_pest: dict[Pest, list[ScoutingCount]] = defaultdict(list)
    for count in counts.order_by("scouted_at"):
        by_pest[count.pest].append(count)
    if not by_pest:
        return []
    records = records_with_labels(planting)
    elsewhere = taken_over([planting], today + timedelta(days=1)).get(planting.pk, [])
    weather = season_weather(planting, today)
    beside = beside_of(count for theirs in by_pest.values() for count in theirs)
    return [
        _look(pest, planting, theirs, records, weather, beside, today, elsewhere)
        for pest, theirs in by_pest.items()
    ]


def _look(
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    records: Sequence[ApplicationRecord],
    weather: LocalWeather | None,
    beside: Beside,
    today: date,
    elsewhere: Sequence[PastApplication],
) -> PestLook:
    sprays = made_sprays(records)
    told = judged(
        pest=pest,
        planting=planting,
        counts=counts,
        records=records,
        heat=mite_heat(pest, weather),
        beside=beside,
    )
    outlook = outlook_of(
        pest=pest,
        planting=planting,
        counts=counts,
        sprays=sprays,
        weather=weather,
        today=today,
        until=today + timedelta(days=AHEAD_DAYS),
        poor=measured_poor(told),
    )
    steps = steps_for(
        pest=pest,
        planting=planting,
        last=counts[-1],
        records=records,
        judgements=told,
        untreated=outlook,
        today=today,
        elsewhere=elsewhere,
    )
    presence = presence_told(counts[-1], planting)
    warmth = warmth_of(
        pest=pest, planting=planting, counts=counts, sprays=sprays, weather=weather, today=today
    )
    return PestLook(pest, tuple(counts), tuple(told), presence, warmth, outlook, steps)


def mite_heat(pest: Pest, weather: LocalWeather | None) -> tuple[HeatDay, ...]:
    """Return the heat of the season as mites feel it; nothing where it is not wholly known."""
    if weather is None or not weather.days or not has_parameters(pest):
        return ()
    try:
        return heat_of_days(weather.days, MITE_HEAT)
    except WeatherMissing:
        return ()
