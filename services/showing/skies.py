"""The hours of a day at a visit as pages show them: a strip with words, and holds to think of."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from services.charting import WIDTH, run_of
from services.models import Dispatch, Visit
from services.rules.spray_hours import (
    CAUSE_WORDS,
    VERDICT_WORDS,
    Cause,
    Stretch,
    Verdict,
    fit_hours,
    stretches,
)
from services.sheets.charts import (
    WEATHER,
    Figure,
    Hours,
    Strip,
    Window,
    as_svg,
    day_figure,
    hours_figure,
    hours_in_words,
    small_hours_figure,
)
from services.weathering import Forecasts, HoldAdvised, VisitSky, hold_advised, sky_of


@dataclass(frozen=True, slots=True, eq=False)
class StopHours:
    """The hours of a day at a stop, like no others; nothing is drawn where nothing is known."""

    sky: VisitSky

    def is_known(self) -> bool:
        """Say whether the forecast tells anything of the open hours."""
        return self.sky.is_known()

    def svg(self) -> str:
        """Return the strip, to stand within the page."""
        return mark_safe(as_svg(hours_figure(self._strip(), get_language()), self._key("hours")))

    def small_svg(self) -> str:
        """Return the strip as small as a cell of the week."""
        figure = small_hours_figure(self._strip(), get_language())
        return mark_safe(as_svg(figure, self._key("cell")))

    def words(self) -> str:
        """Return the open hours in words."""
        return hours_in_words(self._strip().hours, get_language())

    def reasons(self) -> list[str]:
        """Return what is said against hours, each sentence of the gravest hour once."""
        found = {
            finding.code: finding
            for hour in reversed(self.sky.hours)
            if hour.verdict in (Verdict.HOLD, Verdict.CARE)
            for finding in hour.findings[:1]
        }
        return [finding.say(_) for finding in found.values()]

    def _strip(self) -> Strip:
        zone = self.sky.visit.course.property.zone()
        hours = tuple(
            Hours(
                each.starts_at.astimezone(zone),
                each.ends_at.astimezone(zone),
                each.verdict.value,
                words_of(each),
            )
            for each in stretches(self.sky.hours)
        )
        return Strip(self.sky.visit.course.property.name, hours)

    def _key(self, beginning: str) -> str:
        return f"{beginning}-{self.sky.visit.pk}-{self.sky.day:%m%d}"


@dataclass(frozen=True, slots=True)
class Advised:
    """Holds that the forecast advises on a day for one cause, each with its form's address."""

    day: date
    words: str
    visits: tuple[tuple[Visit, str], ...]


def words_of(stretch: Stretch) -> str:
    """Return what hours are for and why, such as "hold (wind, rain)"."""
    verdict = _(VERDICT_WORDS[stretch.verdict])
    causes = ", ".join(_(CAUSE_WORDS[cause]) for cause in stretch.causes)
    is_plain = not causes or stretch.verdict is Verdict.UNKNOWN
    if is_plain:
        return verdict
    return _("%(verdict)s (%(causes)s)") % {"verdict": verdict, "causes": causes}


def stop_hours(visit: Visit, day: date, forecasts: Forecasts) -> StopHours | None:
    """Return the hours of a day at a visit, or None where nothing is sprayed or it is made."""
    if visit.rotation_week.product is None or visit.state != Visit.State.NEEDS_ACTION:
        return None
    return StopHours(sky_of(visit, day, forecasts))


def draw_day_in_weather(dispatch: Dispatch, forecasts: Forecasts, width: float = WIDTH) -> Figure:
    """Return the day of a crew as a drawing, with the hours that a forecast leaves open.

    Its visits are loaded by `dispatches_for` and by `load_labels`.
    """
    run = run_of(dispatch)
    visits = {visit.pk: visit for visit in dispatch.visits.all()}
    worked = [visits[leg["visit"]] for leg in dispatch.legs if leg.get("visit") in visits]
    stops = (
        replace(stop, windows=(*stop.windows, *_fit(visit, dispatch, forecasts)))
        for stop, visit in zip(run.stops, worked, strict=True)
    )
    return day_figure(replace(run, stops=tuple(stops)), get_language(), width=width)


def _fit(visit: Visit, dispatch: Dispatch, forecasts: Forecasts) -> Iterable[Window]:
    """Return the hours that a forecast leaves open; none are drawn where nothing is known."""
    hours = stop_hours(visit, dispatch.day, forecasts)
    zone = dispatch.crew.yard.zone()
    for starts, ends in fit_hours(hours.sky.hours) if hours else ():
        yield Window(starts.astimezone(zone), ends.astimezone(zone), WEATHER)


def advised_holds(visits: Iterable[Visit], forecasts: Forecasts) -> list[Advised]:
    """Return the holds that the forecast advises, those of a day and a cause together."""
    groups: dict[tuple[date, Cause], list[HoldAdvised]] = {}
    for hold in filter(None, (hold_advised(visit, forecasts) for visit in visits)):
        groups.setdefault((hold.day, hold.cause), []).append(hold)
    return [_advised(*key, groups[key]) for key in sorted(groups)]


def _advised(day: date, cause: Cause, holds: Iterable[HoldAdvised]) -> Advised:
    words = _("Every hour that is open for spraying is forecast unfit: %(cause)s.") % {
        "cause": _(CAUSE_WORDS[cause])
    }
    return Advised(day, words, tuple((hold.visit, _form_of(hold)) for hold in holds))


def _form_of(hold: HoldAdvised) -> str:
    tomorrow = hold.day + timedelta(days=1)
    asked = urlencode({"reason": hold.reason.value, "not_before": tomorrow.isoformat()})
    address = reverse("services:hold_visit", args=[hold.visit.pk])
    return f"{address}?{asked}"
