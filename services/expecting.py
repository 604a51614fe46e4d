"""Where pests are heading on a planting with the visits that are still to come."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from clients.models import Planting
from services.models import Visit
from treatments.forecasting import Ground, Outlook, Spray, outlook_of
from treatments.judging import Judged, judged, measured_poor
from treatments.looking import made_sprays, mite_heat, season_weather
from treatments.models import ApplicationRecord, Pest, ScoutingCount
from treatments.rules.population import Treatment, repeated, slipped
from treatments.weather import LocalWeather

AFTER_LAST = timedelta(days=14)  # what comes after the last visit is shown as well; our choice
LONGEST = timedelta(days=180)


def expected_on(
    planting: Planting,
    pest: Pest,
    *,
    counts: Sequence[ScoutingCount],
    records: Iterable[ApplicationRecord],
    visits: Iterable[Visit],
    weather: LocalWeather | None,
    today: date,
    judgements: Sequence[Judged] | None = None,
) -> Outlook:
    """Return where a pest is heading on a planting, with what was made and what is planned.

    counts: of the pest, in order; records: current ones of the planting, contents loaded
    visits: open ones of the planting, contents of their products loaded
    judgements: of all its visits, where they were judged already

    Where counts showed that a product did too little, later visits of its group count for less.
    """
    coming = coming_sprays(visits, today)
    records = list(records)
    if judgements is None:
        heat = mite_heat(pest, weather)
        judgements = judged(pest=pest, planting=planting, counts=counts, records=records, heat=heat)
    last = max([today, *(spray.day for spray in coming)])
    return outlook_of(
        pest=pest,
        planting=planting,
        counts=counts,
        sprays=[*made_sprays(records), *coming],
        weather=weather,
        today=today,
        until=min(last + AFTER_LAST, today + LONGEST),
        poor=measured_poor(judgements),
    )


def coming_sprays(visits: Iterable[Visit], today: date) -> list[Spray]:
    """Return what open visits will spray; one that is late is taken as made today."""
    return [
        Spray(day_expected(visit, today), product)
        for visit in visits
        if visit.is_open() and (product := visit.rotation_week.product) is not None
    ]


def day_expected(visit: Visit, today: date) -> date:
    """Return the day on which an open visit is taken to be made."""
    return max(visit.planned, today)


def weather_of(planting: Planting, today: date) -> LocalWeather | None:
    """Return the temperatures near a planting."""
    return season_weather(planting, today)


def number_of(ground: Ground, visit: Visit, today: date) -> int | None:
    """Return which of the treatments of a forecast an open visit is, or None where it is none."""
    day, product = day_expected(visit, today), visit.rotation_week.product
    for number, treatment in enumerate(ground.treatments, start=1):
        if product and (treatment.day, treatment.product) == (day, product.name):
            return number
    return None


def with_slip(ground: Ground, number: int, days: int, *, later_too: bool) -> Ground:
    """Return the ground of a forecast with one visit some days later, and the later ones too."""
    changed = slipped(ground.treatments, number, days, later_too=later_too)
    return replace(ground, treatments=in_order(changed))


def with_repeat(ground: Ground, number: int) -> Ground:
    """Return the ground of a forecast with one visit using the product before it again."""
    return replace(ground, treatments=repeated(ground.treatments, number))


def in_order(treatments: Iterable[Treatment]) -> tuple[Treatment, ...]:
    """Return treatments by their days."""
    return tuple(sorted(treatments, key=lambda each: each.day))
