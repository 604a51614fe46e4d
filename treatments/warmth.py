"""The heat of a season on a planting: what hatches when, and which pests are out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from treatments.forecasting import Spray, has_parameters, kill_of_product
from treatments.models import Pest, ScoutingCount
from treatments.rules.degree_days import (
    HeatDay,
    HeatModel,
    HeatSum,
    Method,
    WeatherMissing,
    carried_on,
    day_reaching,
    heat_of_days,
    sum_heat,
)
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.heat_cues import CUE_HEAT, START, dated_cues
from treatments.rules.population import MITE_HEAT, retreat_window
from treatments.rules.population.parameters import TWO_SPOTTED
from treatments.weather import LocalWeather

AHEAD_DAYS = 45  # so far the mean of the last days is carried on; this project's choice
GENERATION_HEAT = float(sum(TWO_SPOTTED.stage_heats()))  # egg to egg

METHOD_WORDS = {
    Method.SINGLE_SINE: _("single sine"),
    Method.DOUBLE_SINE: _("double sine"),
    Method.SINGLE_TRIANGLE: _("single triangle"),
    Method.DOUBLE_TRIANGLE: _("double triangle"),
    Method.SIMPLE_AVERAGE: _("mean of lowest and highest"),
}
HATCHES = gettext_noop(
    "Eggs of %(day)s have hatched by about %(hatched)s, at %(heat)s degree-days over 10 °C."
)
LAYS = gettext_noop(
    "Their young lay from about %(laying)s on: a generation takes %(heat)s degree-days over 10 °C."
)
COME_AGAIN = gettext_noop(
    "After %(product)s on %(day)s, which leaves eggs and no residue, come again from %(opens)s to "
    "%(closes)s: hatched by then, and not laying yet."
)


@dataclass(frozen=True, slots=True)
class Warmth:
    """A sum of heat on a planting, how it was told, and what it means for a pest.

    since: the first day that counts; unit: C or F
    """

    pest: Pest
    model: HeatModel
    since: date
    until: date
    total: HeatSum
    weather: LocalWeather
    findings: tuple[Finding, ...]

    @property
    def unit(self) -> str:
        """The scale of the degree-days."""
        return f"°{self.model.scale.value}"

    @property
    def method(self) -> str:
        """The way in which the heat of a day is told, in the reader's language."""
        return str(METHOD_WORDS[self.model.method])


def warmth_of(
    *,
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    sprays: Sequence[Spray],
    weather: LocalWeather | None,
    today: date,
) -> Warmth | None:
    """Return the heat that matters for a pest on a planting; None where no weather tells it.

    For two-spotted mite it is counted from the last count on, for others from the start of their
    cues.  sprays: made ones, in order
    """
    if weather is None or not weather.days:
        return None
    try:
        if has_parameters(pest):
            return _of_mites(pest, planting, counts, sprays, weather, today)
        return _of_cues(pest, weather, today)
    except WeatherMissing:
        return None


def _of_mites(
    pest: Pest,
    planting: Planting,
    counts: Sequence[ScoutingCount],
    sprays: Sequence[Spray],
    weather: LocalWeather,
    today: date,
) -> Warmth | None:
    if not counts:
        return None
    since = counts[-1].scouted_at.astimezone(planting.property.zone()).date()
    if weather.days[0].day > since:
        return None
    days = _heat(weather, MITE_HEAT, since - timedelta(days=AHEAD_DAYS), today)
    findings = [*_hatching(days, since), *_coming_again(days, sprays, today)]
    return _warmth(pest, MITE_HEAT, days, since, today, weather, findings)


def _of_cues(pest: Pest, weather: LocalWeather, today: date) -> Warmth | None:
    since = date(today.year, *START)
    if weather.days[0].day > since or today < since:
        return None
    days = _heat(weather, CUE_HEAT, date(today.year, 1, 1), today)
    findings = [cue.finding for cue in dated_cues(pest.common_name, days, today)]
    if not findings:
        return None
    return _warmth(pest, CUE_HEAT, days, since, today, weather, findings)


def _heat(weather: LocalWeather, model: HeatModel, since: date, today: date) -> list[HeatDay]:
    known = [day for day in weather.days if day.day >= since]
    ahead = today + timedelta(days=AHEAD_DAYS)
    return [day for day in heat_of_days(carried_on(known, ahead), model) if day.day <= ahead]


def _warmth(
    pest: Pest,
    model: HeatModel,
    days: Sequence[HeatDay],
    since: date,
    today: date,
    weather: LocalWeather,
    findings: Iterable[Finding],
) -> Warmth:
    yesterday = today - timedelta(days=1)
    total = sum_heat(days, since, yesterday)
    return Warmth(pest, model, since, yesterday, total, weather, tuple(findings))


def _hatching(days: Sequence[HeatDay], since: date) -> list[Finding]:
    hatched = day_reaching(days, float(TWO_SPOTTED.egg_heat), since=since)
    laying = day_reaching(days, GENERATION_HEAT, since=since)
    found = []
    if hatched is not None:
        facts = {"day": since, "hatched": hatched.day, "heat": f"{TWO_SPOTTED.egg_heat:.0f}"}
        found.append(_note("eggs-hatch", HATCHES, facts))
    if laying is not None:
        facts = {"laying": laying.day, "heat": f"{GENERATION_HEAT:.0f}"}
        found.append(_note("young-lay", LAYS, facts))
    return found


def _coming_again(days: Sequence[HeatDay], sprays: Sequence[Spray], today: date) -> list[Finding]:
    """Return when to come again after the last spray, if it was one that leaves eggs."""
    if not sprays or not days or sprays[-1].day < days[0].day:
        return []
    last = sprays[-1]
    kill = kill_of_product(last.product)
    if kill is None or kill.leaves_eggs_and_residue != (True, False):
        return []
    window = retreat_window(
        last.day, days, minimum_interval_days=last.product.minimum_interval_days
    )
    if window.opens is None or window.closes is None or window.closes < today:
        return list(window.findings)
    facts = {"product": last.product.name, "day": last.day}
    facts |= {"opens": window.opens, "closes": window.closes}
    return [_note("come-again", COME_AGAIN, facts), *window.findings]


def _note(code: str, sentence: str, facts: dict[str, object]) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", facts, "CANENT-1981")
