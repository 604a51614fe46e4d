"""In which hours of a day a stop may be sprayed, as far as the forecast tells: each with reasons.

The labels and limits are those that hold on the spot (treatments.rules.spraying).  Added here is
what only a row of hours can tell: how long it stays dry after an hour, and when still air means an
inversion, which builds toward sunset and is strongest at sunrise [CANOLA-INVERSION].  An hour of
which the wind is not known is unknown: it is never shown as calm, and never closes anything.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from itertools import groupby
from math import ceil

from services.rules.weather import ForecastHour
from treatments.rules.daylight import INVERSION_CAUTION
from treatments.rules.facts import Conditions, ProductFacts
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.spraying import DRY_HOURS, WIND_STOP_MPH, spray_verdict

HOUR = timedelta(hours=1)
STILL_BEFORE_SUNSET = timedelta(hours=2)  # common practice
STILL_AFTER_SUNRISE = timedelta(hours=2)  # common practice
RAIN_LIKELY_PERCENT = 50  # from which rain is reckoned with; this project's choice
LOOK_AHEAD_HOURS = 48

RAINS = gettext_noop("Rain is likely in this hour (%(percent)s percent): hold.")
GUSTS = gettext_noop("Gusts of %(gust)s mph are above %(limit)s: watch where the spray carries.")
AFTER_RAIN = gettext_noop("Treat after the rain, once the leaves have dried.")
CALMER_HOUR = gettext_noop("Choose a calmer hour.")


class Verdict(StrEnum):
    """What an hour is for spraying; SHUT is outside access, dusk or daylight."""

    GOOD = "good"
    CARE = "care"
    HOLD = "hold"
    UNKNOWN = "unknown"
    SHUT = "shut"


class Cause(StrEnum):
    """What in the air speaks against an hour."""

    WIND = "wind"
    STILL_AIR = "still air"
    RAIN = "rain"
    HEAT = "heat"
    COLD = "cold"
    DRY_AIR = "dry air"
    DAMP_AIR = "damp air"
    NOT_KNOWN = "not known"


CAUSE_WORDS: dict[Cause, Marked] = {
    Cause.WIND: gettext_noop("wind"),
    Cause.STILL_AIR: gettext_noop("still air"),
    Cause.RAIN: gettext_noop("rain"),
    Cause.HEAT: gettext_noop("heat"),
    Cause.COLD: gettext_noop("cold"),
    Cause.DRY_AIR: gettext_noop("dry air"),
    Cause.DAMP_AIR: gettext_noop("damp air"),
    Cause.NOT_KNOWN: gettext_noop("not known"),
}
VERDICT_WORDS: dict[Verdict, Marked] = {
    Verdict.GOOD: gettext_noop("good"),
    Verdict.CARE: gettext_noop("with care"),
    Verdict.HOLD: gettext_noop("hold"),
    Verdict.UNKNOWN: gettext_noop("not known"),
    Verdict.SHUT: gettext_noop("closed"),
}
CAUSES: dict[str, Cause] = {
    "wind-above-label": Cause.WIND,
    "wind-high": Cause.WIND,
    "wind-brisk": Cause.WIND,
    "gusts": Cause.WIND,
    "still-air": Cause.STILL_AIR,
    "still-at-dusk": Cause.STILL_AIR,
    "raining": Cause.RAIN,
    "rain-too-soon": Cause.RAIN,
    "rain-near": Cause.RAIN,
    "above-label-heat": Cause.HEAT,
    "too-hot": Cause.HEAT,
    "warm": Cause.HEAT,
    "below-label-heat": Cause.COLD,
    "cold": Cause.COLD,
    "delta-t-high": Cause.DRY_AIR,
    "delta-t-marginal": Cause.DRY_AIR,
    "delta-t-low": Cause.DAMP_AIR,
    "damp": Cause.DAMP_AIR,
    "wind-unknown": Cause.NOT_KNOWN,
    "rain-unknown": Cause.NOT_KNOWN,
    "temperature-unknown": Cause.NOT_KNOWN,
}
# Warnings that say "hold", beside the refusals.
HOLDS = {"wind-high", "still-at-dusk", "delta-t-high", "raining"}


@dataclass(frozen=True, slots=True)
class DayFrame:
    """Which hours of a day are told, which are open, and when the air grows still.

    first, last: from when to when hours are told
    windows: the hours in which access, dusk and daylight let the crew work; none at all shuts all
    sunrise, sunset: None where the sun does not get there
    elevation_ft: feet above the sea, for Delta T
    """

    first: datetime
    last: datetime
    windows: tuple[tuple[datetime, datetime], ...] = ()
    sunrise: datetime | None = None
    sunset: datetime | None = None
    elevation_ft: float = 0

    def is_open(self, instant: datetime) -> bool:
        """Say whether any of the hour from an instant on lies in a window."""
        return any(opens < instant + HOUR and closes > instant for opens, closes in self.windows)

    def is_still(self, instant: datetime) -> bool:
        """Say whether calm in the hour from an instant on would mean an inversion."""
        if self.sunset and instant + HOUR > self.sunset - STILL_BEFORE_SUNSET:
            return True
        return bool(self.sunrise and instant < self.sunrise + STILL_AFTER_SUNRISE)


@dataclass(frozen=True, slots=True)
class SprayHour:
    """An hour and what it is for spraying, the gravest finding first."""

    starts_at: datetime
    verdict: Verdict
    findings: tuple[Finding, ...] = ()

    @property
    def ends_at(self) -> datetime:
        """When the hour is over."""
        return self.starts_at + HOUR

    def causes(self) -> tuple[Cause, ...]:
        """Return what speaks against the hour as much as its verdict says, each once."""
        if self.verdict is Verdict.GOOD:
            return ()
        told = [finding for finding in self.findings if _weighs(finding) is self.verdict]
        return tuple(dict.fromkeys(CAUSES[finding.code] for finding in told))


@dataclass(frozen=True, slots=True)
class Stretch:
    """Hours in a row with one verdict for the same causes."""

    starts_at: datetime
    ends_at: datetime
    verdict: Verdict
    causes: tuple[Cause, ...]


def spray_hours(
    frame: DayFrame, hours: Mapping[datetime, ForecastHour], products: Sequence[ProductFacts]
) -> tuple[SprayHour, ...]:
    """Return every hour of a day with its verdict.

    hours: what is forecast, by the instant at which an hour begins, in UTC
    products: all that is applied at the stop; the strictest label holds

    >>> noon = datetime(2026, 7, 6, 12, tzinfo=UTC)
    >>> frame = DayFrame(noon, noon + 2 * HOUR, ((noon, noon + 2 * HOUR),))
    >>> calm = ForecastHour(noon, Decimal(70), Decimal(60), Decimal(5), None, Decimal(0))
    >>> [hour.verdict.value for hour in spray_hours(frame, {noon: calm}, [])]
    ['good', 'unknown']
    """
    first = frame.first.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    instants = []
    while first < frame.last:
        instants.append(first)
        first += HOUR
    return tuple(_told(instant, frame, hours, products) for instant in instants)


def stretches(hours: Iterable[SprayHour]) -> tuple[Stretch, ...]:
    """Return hours put together where verdict and causes are the same."""
    found = []
    for (verdict, causes), same in groupby(hours, lambda hour: (hour.verdict, hour.causes())):
        row = list(same)
        found.append(Stretch(row[0].starts_at, row[-1].ends_at, verdict, causes))
    return tuple(found)


def hours_to_hold(hours: Iterable[SprayHour]) -> tuple[tuple[datetime, datetime], ...]:
    """Return from when to when the forecast says that nothing may be sprayed, in order."""
    return _put_together(hour for hour in hours if hour.verdict is Verdict.HOLD)


def fit_hours(hours: Iterable[SprayHour]) -> tuple[tuple[datetime, datetime], ...]:
    """Return from when to when the forecast lets a crew spray, with or without care, in order."""
    return _put_together(hour for hour in hours if hour.verdict in (Verdict.GOOD, Verdict.CARE))


def without(
    windows: Iterable[tuple[datetime, datetime]], closed: Sequence[tuple[datetime, datetime]]
) -> list[tuple[datetime, datetime]]:
    """Return windows less the hours that are closed, in order."""
    left = sorted(windows)
    for starts, ends in closed:
        cut = []
        for opens, closes in left:
            cut += [(opens, min(closes, starts)), (max(opens, ends), closes)]
        left = sorted({window for window in cut if window[0] < window[1]})
    return left


def cause_to_hold(hours: Iterable[SprayHour], starts: datetime, ends: datetime) -> Cause | None:
    """Return what keeps every open hour between two moments from spraying, or None.

    One hour that is not known to be bad is enough for None: a person may look and decide.
    """
    meant = [hour for hour in hours if hour.starts_at < ends and hour.ends_at > starts]
    open_hours = [hour for hour in meant if hour.verdict is not Verdict.SHUT]
    if not open_hours or any(hour.verdict is not Verdict.HOLD for hour in open_hours):
        return None
    causes = [cause for hour in open_hours for cause in hour.causes()]
    return max(dict.fromkeys(causes), key=causes.count)


def dry_hours_after(
    instant: datetime, hours: Mapping[datetime, ForecastHour], needed: int
) -> Decimal | None:
    """Return the dry hours after the hour from an instant on: until rain is likely.

    needed: how many dry hours matter; None where fewer are known to stay dry, and none to rain
    """
    for number in range(1, LOOK_AHEAD_HOURS + 1):
        hour = hours.get(instant + number * HOUR)
        if hour is None or hour.rain_percent is None:
            return Decimal(number - 1) if number > needed else None
        if hour.rain_percent >= RAIN_LIKELY_PERCENT:
            return Decimal(number - 1)
    return Decimal(LOOK_AHEAD_HOURS)


def _put_together(hours: Iterable[SprayHour]) -> tuple[tuple[datetime, datetime], ...]:
    rows: list[tuple[datetime, datetime]] = []
    for hour in hours:
        if rows and rows[-1][1] == hour.starts_at:
            rows[-1] = (rows[-1][0], hour.ends_at)
        else:
            rows.append((hour.starts_at, hour.ends_at))
    return tuple(rows)


def _told(
    instant: datetime,
    frame: DayFrame,
    hours: Mapping[datetime, ForecastHour],
    products: Sequence[ProductFacts],
) -> SprayHour:
    if not frame.is_open(instant):
        return SprayHour(instant, Verdict.SHUT)
    forecast = hours.get(instant)
    if forecast is None:
        return SprayHour(instant, Verdict.UNKNOWN)
    needed = max((each.rainfast_hours or DRY_HOURS for each in products), default=DRY_HOURS)
    conditions = Conditions(
        at=instant,
        wind_mph=forecast.wind_mph,
        temperature_f=forecast.temperature_f,
        humidity_percent=forecast.humidity_percent,
        hours_to_rain=dry_hours_after(instant, hours, ceil(needed)),
    )
    still = frame.is_still(instant)
    elevation = frame.elevation_ft
    found = spray_verdict(conditions, products, at_dusk=still, elevation_ft=elevation)
    found += [*_rain_now(forecast), *_gusts(forecast, products)]
    found += [INVERSION_CAUTION] if still else []
    graded = sorted(found, key=lambda finding: ORDER.index(_weighs(finding)))
    return SprayHour(instant, _weighs(graded[0]) if graded else Verdict.GOOD, tuple(graded))


ORDER = (Verdict.HOLD, Verdict.UNKNOWN, Verdict.CARE, Verdict.GOOD)


def _weighs(finding: Finding) -> Verdict:
    if finding.severity is Severity.REFUSAL or finding.code in HOLDS:
        return Verdict.HOLD
    if finding.code.endswith("-unknown"):
        return Verdict.UNKNOWN
    return Verdict.CARE if finding.severity is Severity.WARNING else Verdict.GOOD


def _rain_now(forecast: ForecastHour) -> Iterator[Finding]:
    percent = forecast.rain_percent
    if percent is not None and percent >= RAIN_LIKELY_PERCENT:
        facts = {"percent": f"{percent:.0f}"}
        yield Finding(
            "raining", Severity.WARNING, RAINS, AFTER_RAIN, facts, source="common practice"
        )


def _gusts(forecast: ForecastHour, products: Sequence[ProductFacts]) -> Iterator[Finding]:
    told = [each.wind_maximum_mph for each in products if each.wind_maximum_mph is not None]
    limit = min(told, default=WIND_STOP_MPH)
    if forecast.gust_mph is not None and forecast.gust_mph > limit:
        facts = {"gust": forecast.gust_mph, "limit": limit}
        yield Finding("gusts", Severity.WARNING, GUSTS, CALMER_HOUR, facts, "common practice")
