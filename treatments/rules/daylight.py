"""When the sun rises and sets at a place, and the hours of dusk and of morning for spraying.

Sunrise and sunset are the moments when the sun's centre stands 0.833 degrees below the horizon,
civil dusk and dawn when it stands 6 degrees below [USNO-RST].  The windows are rounded inward to
the minute and made a minute shorter at each end, since the sun's place is computed to half a
minute only.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from astral import Observer
from astral import sun as almanac

from treatments.rules.findings import Finding, Severity, gettext_noop

MINUTES_BEFORE_SUNSET = 60  # common practice
MINUTES_AFTER_SUNRISE = 60  # common practice
MARGIN = timedelta(minutes=1)
MOMENTS_KEPT = 8_192  # of places and days worked out already; a page asks for each more than once

INVERSION_CAUTION = Finding(
    code="inversion-likely",
    severity=Severity.NOTE,
    sentence=gettext_noop(
        "Around sunset and sunrise the air often lies still in layers, and fine drops drift far: "
        "look at smoke or dust before spraying, and keep to the label's wind limits."
    ),
    source="common practice",
)


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the earth and the time zone its clocks keep.

    latitude, longitude: degrees, north and east positive
    zone: an IANA name, such as "America/New_York"
    """

    latitude: float
    longitude: float
    zone: str

    def __post_init__(self) -> None:
        if abs(self.latitude) > 90 or abs(self.longitude) > 180:
            raise ValueError("A place lies within 90 degrees of latitude and 180 of longitude.")


@dataclass(frozen=True, slots=True)
class SprayWindow:
    """From when until when a day's light allows the work, or the reason why it never does."""

    opens: datetime | None
    closes: datetime | None
    missing: Finding | None = None

    def is_open(self) -> bool:
        """Say whether there is such a window on the day."""
        return self.missing is None

    def holds(self, instant: datetime) -> bool:
        """Say whether an instant lies in the window, its ends included."""
        if self.opens is None or self.closes is None:
            return False
        return self.opens <= instant <= self.closes


def sunrise(place: Place, day: date) -> datetime | None:
    """Return the local time of sunrise, or None where the sun does not rise that day.

    >>> sunrise(Place(39.9612, -82.9988, "America/New_York"), date(2026, 6, 21)).hour
    6
    """
    return _moment(almanac.sunrise, place, day)


def sunset(place: Place, day: date) -> datetime | None:
    """Return the local time of sunset, or None where the sun does not set that day.

    >>> sunset(Place(39.9612, -82.9988, "America/New_York"), date(2026, 6, 21)).hour
    21
    """
    return _moment(almanac.sunset, place, day)


def civil_dusk(place: Place, day: date) -> datetime | None:
    """Return the local time at which civil dusk ends the day, or None where it never comes.

    >>> civil_dusk(Place(61.2181, -149.9003, "America/Anchorage"), date(2026, 6, 21)) is None
    True
    """
    return _moment(almanac.dusk, place, day)


def civil_dawn(place: Place, day: date) -> datetime | None:
    """Return the local time at which civil dawn begins the day, or None where it never comes.

    >>> civil_dawn(Place(39.9612, -82.9988, "America/New_York"), date(2026, 6, 21)).hour
    5
    """
    return _moment(almanac.dawn, place, day)


def dusk_window(
    place: Place, day: date, minutes_before_sunset: int = MINUTES_BEFORE_SUNSET
) -> SprayWindow:
    """Return the evening hours from some minutes before sunset until civil dusk.

    minutes_before_sunset: minutes, 0 or more

    >>> window = dusk_window(Place(39.9612, -82.9988, "America/New_York"), date(2026, 6, 21), 45)
    >>> f"{window.opens:%H:%M} to {window.closes:%H:%M}"
    '20:20 to 21:36'
    """
    _refuse_negative(minutes_before_sunset)
    sets, ends = sunset(place, day), civil_dusk(place, day)
    if sets is None:
        return _missing("no-sunset", NO_SUNSET, day)
    if ends is None or ends <= sets:
        return _missing("no-dusk", NO_DUSK, day)
    return _inward(sets - timedelta(minutes=minutes_before_sunset), ends)


def morning_window(
    place: Place, day: date, minutes_after_sunrise: int = MINUTES_AFTER_SUNRISE
) -> SprayWindow:
    """Return the morning hours from civil dawn until some minutes after sunrise.

    minutes_after_sunrise: minutes, 0 or more

    >>> window = morning_window(Place(39.9612, -82.9988, "America/New_York"), date(2026, 6, 21))
    >>> f"{window.opens:%H:%M} to {window.closes:%H:%M}"
    '05:32 to 07:02'
    """
    _refuse_negative(minutes_after_sunrise)
    begins, rises = civil_dawn(place, day), sunrise(place, day)
    if rises is None:
        return _missing("no-sunrise", NO_SUNRISE, day)
    if begins is None or begins >= rises:
        return _missing("no-dawn", NO_DAWN, day)
    return _inward(begins, rises + timedelta(minutes=minutes_after_sunrise))


NO_SUNSET = gettext_noop("The sun does not set here on %(day)s, so there is no dusk to spray at.")
NO_DUSK = gettext_noop("It does not get dark here on %(day)s: civil dusk never comes.")
NO_SUNRISE = gettext_noop("The sun does not rise here on %(day)s, so there is no morning window.")
NO_DAWN = gettext_noop("The night before %(day)s does not get dark here: civil dawn never comes.")
ASK_FOR_HOURS = gettext_noop("Give the visit its hours by hand.")


@lru_cache(maxsize=MOMENTS_KEPT)
def _moment(find: Callable[..., datetime], place: Place, day: date) -> datetime | None:
    observer = Observer(place.latitude, place.longitude)
    try:
        return find(observer, date=day, tzinfo=ZoneInfo(place.zone))
    except ValueError:  # what the almanac says of a day on which the sun does not get there
        return None


def _missing(code: str, sentence: str, day: date) -> SprayWindow:
    reason = Finding(
        code=code,
        severity=Severity.WARNING,
        sentence=sentence,
        remedy=ASK_FOR_HOURS,
        facts={"day": day},
        source="USNO-RST",
    )
    return SprayWindow(opens=None, closes=None, missing=reason)


def _inward(opens: datetime, closes: datetime) -> SprayWindow:
    whole = opens.replace(second=0, microsecond=0)
    opens = whole if whole == opens else whole + timedelta(minutes=1)
    closes = closes.replace(second=0, microsecond=0)
    return SprayWindow(opens=opens + MARGIN, closes=closes - MARGIN)


def _refuse_negative(minutes: int) -> None:
    if minutes < 0:
        raise ValueError("A window is given in minutes of 0 or more.")
