"""The hours of a day at a visit, as the forecast tells them: what they are for, what to hold."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Prefetch, prefetch_related_objects

from services.courses.hours import Hours, NoHours, place_of, spray_windows
from services.models import Hold, Visit
from services.rules.spray_hours import (
    Cause,
    DayFrame,
    SprayHour,
    Verdict,
    cause_to_hold,
    hours_to_hold,
    spray_hours,
)
from services.weathering.knowing import Forecasts
from treatments.gathering import product_facts
from treatments.models import LabelRate, ProductIngredient
from treatments.rules.daylight import sunrise, sunset
from treatments.rules.facts import ProductFacts

FIRST_HOUR, LAST_HOUR = 5, 22  # of the day, by the clock of the place; what a strip shows
HOUR = timedelta(hours=1)
REASONS = {
    Cause.WIND: Hold.Reason.WIND,
    Cause.RAIN: Hold.Reason.RAIN,
    Cause.HEAT: Hold.Reason.HEAT,
    Cause.DRY_AIR: Hold.Reason.HEAT,
    Cause.COLD: Hold.Reason.COLD,
    Cause.STILL_AIR: Hold.Reason.WIND,
}


@dataclass(frozen=True, slots=True)
class VisitSky:
    """The hours of a day at a visit."""

    visit: Visit
    day: date
    hours: tuple[SprayHour, ...]

    def is_known(self) -> bool:
        """Say whether the forecast tells anything of the open hours."""
        told = {hour.verdict for hour in self.hours}
        return bool(told - {Verdict.SHUT, Verdict.UNKNOWN})

    def coming(self, now: datetime) -> "VisitSky":
        """Return the same day without the hours that are over."""
        left = tuple(hour for hour in self.hours if hour.ends_at > now)
        return VisitSky(self.visit, self.day, left)


@dataclass(frozen=True, slots=True)
class HoldAdvised:
    """A visit all of whose hours the forecast speaks against; a person decides."""

    visit: Visit
    day: date
    cause: Cause
    reason: Hold.Reason


def load_labels(visits: Iterable[Visit]) -> list[Visit]:
    """Load the labels that the hours of visits rest on, beside their places and plantings."""
    visits = list(visits)
    contents = ProductIngredient.objects.select_related("ingredient")
    rates = LabelRate.objects.select_related("pest")
    prefetch_related_objects(
        visits,
        *(
            Prefetch(f"rotation_week__{name}__{what}", rows)
            for name in ("product", "adjuvant")
            for what, rows in (("contents", contents), ("rates", rates))
        ),
    )
    return visits


def sky_of(visit: Visit, day: date, forecasts: Forecasts) -> VisitSky:
    """Return the hours of a day at a visit; load the visit through `load_labels`.

    Where no forecast is near or fresh every open hour is unknown.
    """
    outlook = forecasts.at(visit.course.property)
    known = outlook.hours if outlook else {}
    frame = _frame(visit, day, outlook.elevation_ft if outlook else 0)
    return VisitSky(visit, day, spray_hours(frame, known, labels_of(visit)))


def closed_by_weather(visit: Visit, day: date, forecasts: Forecasts) -> tuple[Hours, ...]:
    """Return the hours of a day that a fresh forecast closes for a visit.

    What is not known closes nothing, and so does a week in which nothing is sprayed.
    """
    outlook = forecasts.at(visit.course.property)
    if visit.rotation_week.product is None or outlook is None or not outlook.is_known():
        return ()
    return hours_to_hold(sky_of(visit, day, forecasts).hours)


def hold_advised(visit: Visit, forecasts: Forecasts) -> HoldAdvised | None:
    """Return the hold that the forecast advises for a visit, or None.

    Of a visit with a crew the hours of its work are meant, of another those of its planned day.
    """
    day = visit.dispatch.day if visit.dispatch else visit.planned
    is_waiting = visit.state == Visit.State.NEEDS_ACTION and visit.open_hold() is None
    if not is_waiting or visit.rotation_week.product is None:
        return None
    if not forecasts.tell_of(visit.course.property):
        return None
    sky = sky_of(visit, day, forecasts).coming(forecasts.now)
    if not sky.is_known():
        return None
    starts, ends = _meant(visit, sky)
    cause = cause_to_hold(sky.hours, starts, ends)
    return HoldAdvised(visit, day, cause, REASONS[cause]) if cause else None


def labels_of(visit: Visit) -> list[ProductFacts]:
    """Return the labels that bind at a visit: of the product and of what is mixed in with it."""
    week = visit.rotation_week
    return [product_facts(each) for each in (week.product, week.adjuvant) if each is not None]


def _meant(visit: Visit, sky: VisitSky) -> Hours:
    if visit.arrives_at and visit.leaves_at:
        return visit.arrives_at, visit.leaves_at
    return sky.hours[0].starts_at, sky.hours[-1].ends_at


def _frame(visit: Visit, day: date, elevation_ft: float) -> DayFrame:
    place = place_of(visit.course.property)
    midnight = datetime(day.year, day.month, day.day, tzinfo=visit.course.property.zone())
    try:
        windows = tuple(spray_windows(visit, day))
    except NoHours:
        windows = ()
    return DayFrame(
        first=midnight.replace(hour=FIRST_HOUR),
        last=midnight.replace(hour=LAST_HOUR),
        windows=windows,
        sunrise=sunrise(place, day),
        sunset=sunset(place, day),
        elevation_ft=elevation_ft,
    )
