"""The day of each crew: where it goes, when, with what; and what no crew takes."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.utils.functional import Promise
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy as _

from clients.access import Role, role_of
from services.charting import PHONE_WIDTH
from services.dispatching import LOADED_WITH_CREWS, against_its_crew
from services.dispatching.store import note_what_is_aboard
from services.models import Dispatch, Hold, LoadLine, Visit
from services.models.crews import days_of_technician
from services.sheets.charts import as_svg
from services.showing.obstacles import (
    PREFETCHED,
    Obstacle,
    finding_left_out,
    said_together,
    with_days_in_words,
)
from services.showing.skies import (
    Advised,
    StopHours,
    advised_holds,
    draw_day_in_weather,
    stop_hours,
)
from services.weathering import Forecasts, load_labels
from treatments.gathering import product_facts
from treatments.rules.findings import Finding

KINDS: Mapping[str, str | Promise] = {
    "travel": _("driving"),
    "drive": _("driving"),
    "wait": _("waiting"),
    "work": _("work"),
    "lunch": _("lunch"),
    "refill": _("back in the yard to refill"),
    "rinse": _("rinsing the sprayer for another mix"),
}
LEFT = _("waiting: a stop has left the route, and the hours of the others stay")


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of a crew's day, with the visit where it is one.

    is_refill: the crew is back in the yard for it
    """

    starts: datetime
    ends: datetime
    words: str | Promise
    visit: Visit | None
    number: int | None
    gallons: Decimal | None
    hours: StopHours | None = None
    is_refill: bool = False


@dataclass(frozen=True, slots=True)
class CrewDay:
    """A crew's day as the page shows it.

    against: what speaks against the crew's stops since they were given to it
    """

    dispatch: Dispatch
    legs: list[Leg]
    forecasts: Forecasts
    advised: list[Advised]
    against: list[Obstacle]

    def zone(self):
        """Return the zone in which its hours are read."""
        return self.dispatch.crew.yard.zone()

    def svg(self) -> str:
        """Return the drawing of the day, to stand within the page."""
        return mark_safe(
            as_svg(draw_day_in_weather(self.dispatch, self.forecasts), f"day-{self.dispatch.pk}")
        )

    def narrow_svg(self) -> str:
        """Return the same drawing for a phone, on which the list under it tells the names."""
        figure = draw_day_in_weather(self.dispatch, self.forecasts, PHONE_WIDTH)
        return mark_safe(as_svg(figure, f"narrow-{self.dispatch.pk}"))

    def untold_ways(self) -> list[str]:
        """Return the ways that the road server did not tell, as they are named on the plan."""
        return self.dispatch.travel.get("untold", [])

    def may_be_recalled(self) -> bool:
        """Say whether a visit of it is still to be begun."""
        return any(visit.state == Visit.State.NEEDS_ACTION for visit in self.dispatch.visits.all())


@dataclass(frozen=True, slots=True)
class WithoutCrew:
    """A visit planned for the day that no crew has, and why."""

    visit: Visit
    reason: Finding | None

    def hold(self) -> Hold | None:
        """Return the hold that stands, or None."""
        return self.visit.open_hold()


def dispatches_for(user) -> QuerySet[Dispatch]:
    """Pick the dispatches a person may see, with all that a day shows of them."""
    visits = Visit.objects.with_all_that_is_shown().prefetch_related(*PREFETCHED)
    loads = LoadLine.objects.select_related("lot__product").order_by("lot__product__name", "pk")
    found = Dispatch.objects.select_related("crew__yard", "crew__truck").prefetch_related(
        Prefetch("visits", visits.order_by("position")),
        Prefetch("load", loads),
        "crew__technicians__user",
    )
    if role_of(user) is Role.TECHNICIAN:
        return found.filter(crew__technicians__user=user, day__range=days_of_technician(user))
    return found


def crew_days(day: date, user, forecasts: Forecasts) -> list[CrewDay]:
    """Return the crews that were sent out on a day, as far as a person may see them."""
    made = list(dispatches_for(user).filter(day=day).order_by("crew__name"))
    note_what_is_aboard(made)
    load_labels(visit for dispatch in made for visit in dispatch.visits.all())
    prefetch_related_objects([dispatch.crew for dispatch in made], *LOADED_WITH_CREWS)
    return [
        CrewDay(
            dispatch,
            legs_of(dispatch, forecasts),
            forecasts,
            advised_holds(dispatch.visits.all(), forecasts),
            said_together(_against_its_crew(visit, dispatch) for visit in dispatch.visits.all()),
        )
        for dispatch in made
    ]


def _against_its_crew(visit: Visit, dispatch: Dispatch) -> tuple[Visit, list[Finding]]:
    product = visit.rotation_week.product
    if product is None:
        return visit, []
    label = product_facts(product)
    return visit, against_its_crew(visit, dispatch.crew, dispatch.day, label)


def legs_of(dispatch: Dispatch, forecasts: Forecasts | None = None) -> list[Leg]:
    """Return the parts of a crew's day in order, its stops numbered from 1.

    forecasts: to tell the hours of each stop by; its visits are then loaded by `load_labels`
    """
    visits = {visit.pk: visit for visit in dispatch.visits.all()}
    legs: list[Leg] = []
    for leg in dispatch.legs:
        if datetime.fromisoformat(leg["from"]) >= dispatch.returns_at:
            break
        visit = visits.get(leg.get("visit"))
        number = 1 + sum(each.visit is not None for each in legs) if visit else None
        legs.append(
            Leg(
                starts=datetime.fromisoformat(leg["from"]),
                ends=datetime.fromisoformat(leg["until"]),
                words=LEFT if leg.get("left") else KINDS.get(leg["kind"], leg["kind"]),
                visit=visit,
                number=number,
                gallons=Decimal(leg["gallons"]) if leg.get("gallons") else None,
                hours=stop_hours(visit, dispatch.day, forecasts) if visit and forecasts else None,
                is_refill=leg["kind"] == "refill",
            )
        )
    return legs


def without_crew(day: date, user) -> list[WithoutCrew]:
    """Return the open visits planned for a day that no crew has, each with the reason if known."""
    visits = Visit.objects.for_user(user).open().filter(planned=day, dispatch__isnull=True)
    found = visits.with_all_that_is_shown().order_by("course__property__name", "pk")
    return [WithoutCrew(visit, _why(visit)) for visit in found]


def _why(visit: Visit) -> Finding | None:
    reason = finding_left_out(visit)
    return with_days_in_words(reason) if reason else None
