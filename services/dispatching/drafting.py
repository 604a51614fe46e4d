"""Drafts a day: which visits can go, and the routes that make them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from types import MappingProxyType

from services.dispatching import findings as said
from services.dispatching.clock import DayClock
from services.dispatching.crews import crews_on, key_of_crew, shift_of
from services.dispatching.obstacles import (
    Known,
    obstacles_of,
    products_of,
    shortages,
    what_is_known,
)
from services.dispatching.reading import today_at_yard, visits_to_plan
from services.dispatching.stops import begun_stop, stop_of, work_leg
from services.dispatching.store import FreeStock, aboard_of, free_stock
from services.dispatching.takes import Takes, takes_of
from services.models import Crew, Visit
from services.routes import load_of
from services.rules.loading import Aboard, TruckLoad, load_trucks
from services.rules.plans import Plan, Stop
from services.rules.routing import plan_day
from services.travelling import Travelled, travel_between
from services.weathering import closed_by_weather, forecasts_at, load_labels
from treatments.rules.findings import Finding, Severity


@dataclass(frozen=True, slots=True)
class Draft:
    """A day as it could be handed out, and what it was reckoned from.

    crews, loads: by the key of the crew
    visits, left_out: by the id of the visit
    takes, given: what a visit takes whichever crew goes, and with the crew that goes, by its id
    travel: how the driving was reckoned
    seen: what must still be so when the draft is written
    untouched: the ids of crews whose routes stay as they are
    """

    clock: DayClock
    visits: Mapping[int, Visit]
    takes: Mapping[int, Takes]
    given: Mapping[int, Takes]
    crews: Mapping[str, Crew]
    plan: Plan
    loads: Mapping[str, TruckLoad]
    lots: FreeStock
    left_out: Mapping[int, Finding]
    travel: Travelled
    seen: tuple
    untouched: frozenset[int]


def draft_day(
    day: date, chosen: Iterable[int], now: datetime, untouched: frozenset[int] = frozenset()
) -> Draft:
    """Return a day with the chosen visits and those that have a crew on it already.

    untouched: the ids of crews whose routes stay as they are
    """
    crews = {key_of_crew(crew): crew for crew in crews_on(day) if crew.pk not in untouched}
    clock = DayClock(day, next((crew.yard.time_zone for crew in crews.values()), "UTC"))
    draft = _drafted(visits_of_draft(day, chosen, untouched), crews, clock, now, untouched)
    stuck = frozenset(
        draft.visits[pk].route().crew_id for pk in draft.left_out if has_begun(draft.visits[pk])
    )
    return draft_day(day, chosen, now, untouched | stuck) if stuck else draft


def _drafted(
    visits: Sequence[Visit],
    crews: Mapping[str, Crew],
    clock: DayClock,
    now: datetime,
    untouched: frozenset[int],
    barred: Mapping[int, Finding] = MappingProxyType({}),
) -> Draft:
    known = what_is_known(visits, today_at_yard(now), crews.values(), clock.day)
    lots = stock_for(clock.day, visits, known.takes, known.today)
    left_out = reasons_to_stay(visits, clock.day, known, lots) | dict(barred)
    begun = {visit.pk for visit in visits if has_begun(visit)}
    on_the_road = {
        visit.dispatch.crew_id for visit in visits if visit.pk in begun and visit.dispatch
    }
    stops = _stops(visits, left_out, known.takes, clock, now)
    needs = frozenset().union(*(stop.needs for stop in stops))
    shifts = [
        shift_of(crew, clock, needs, not_before=None if crew.pk in on_the_road else now)
        for crew in crews.values()
    ]
    travel = travel_between({crew.yard for crew in crews.values()}, now)
    plan = plan_day(stops, [shift for shift in shifts if shift is not None], travel=travel)
    by_id = {visit.pk: visit for visit in visits}
    given = _given(plan, by_id, crews, clock.day)
    refused = mixes_refused(by_id, given)
    if refused:
        return _drafted(visits, crews, clock, now, untouched, {**barred, **refused})
    return Draft(
        clock=clock,
        visits=by_id,
        takes=known.takes,
        given=given,
        crews=crews,
        plan=plan,
        loads=_loads(plan, given, begun, lots, clock.day, aboard_of(crews, lots)),
        lots=lots,
        left_out=left_out | {int(left.key): left.reason for left in plan.left_out},
        travel=travel,
        seen=what_was_seen(visits, lots),
        untouched=untouched,
    )


def visits_of_draft(day: date, chosen: Iterable[int], untouched: frozenset[int]) -> list[Visit]:
    """Return the chosen visits and those on the routes of a day, save those of crews left alone."""
    on_routes = Visit.objects.filter(dispatch__day=day).values_list("pk", flat=True)
    return [
        visit
        for visit in visits_to_plan({*chosen, *on_routes})
        if not (is_on_route(visit, day) and visit.route().crew_id in untouched)
    ]


def is_on_route(visit: Visit, day: date) -> bool:
    """Say whether a visit has a crew on a day."""
    return visit.dispatch is not None and visit.dispatch.day == day


def stock_for(
    day: date, visits: Iterable[Visit], takes: Mapping[int, Takes], today: date
) -> FreeStock:
    """Return what is free for a day's routes: their own loads are, save what is being applied."""
    on_routes = [visit for visit in visits if is_on_route(visit, day)]
    applying = [
        work_leg(visit.dispatch, visit) or {}
        for visit in on_routes
        if visit.state == Visit.State.IN_PROCESS
    ]
    return free_stock(
        today,
        products_of(takes.values()),
        beside={visit.route().pk for visit in on_routes},
        kept=load_of(applying),
    )


def what_was_seen(visits: Iterable[Visit], lots: FreeStock) -> tuple:
    """Return what a draft rests on, to be compared when it is written."""
    versions = sorted((visit.pk, visit.version, visit.state) for visit in visits)
    return tuple(versions), lots.lots


def has_begun(visit: Visit) -> bool:
    """Say whether a visit of a route is under way or made, so that it stays where it is."""
    return visit.state in (Visit.State.IN_PROCESS, Visit.State.COMPLETED)


def reasons_to_stay(
    visits: Sequence[Visit],
    day: date,
    known: Known,
    lots: FreeStock,
) -> dict[int, Finding]:
    """Return why visits may not go on a day, by their ids; those that may are not in it."""
    reasons: dict[int, Finding] = {}
    waiting = [visit for visit in visits if visit.state == Visit.State.NEEDS_ACTION]
    for visit in waiting:
        if visit.dispatch and visit.dispatch.day != day:
            reasons[visit.pk] = said.on_another_day(visit, day)
        refusals = [f for f in obstacles_of(visit, day, known) if f.severity is Severity.REFUSAL]
        if refusals:
            reasons.setdefault(visit.pk, refusals[0])
    promised_first = sorted(waiting, key=lambda visit: visit.dispatch_id is None)
    in_turn = [visit for visit in promised_first if visit.pk not in reasons]
    short = shortages(in_turn, known.takes, lots.lots, day)
    return reasons | {pk: findings[0] for pk, findings in short.items()}


def mixes_refused(visits: Mapping[int, Visit], given: Mapping[int, Takes]) -> dict[int, Finding]:
    """Return why a crew may not mix what it was given, by the ids of visits not yet begun."""
    return {
        pk: replace(takes.refusals[0], week=visits[pk].week)
        for pk, takes in given.items()
        if takes.refusals and not has_begun(visits[pk])
    }


def _stops(
    visits: Iterable[Visit],
    left_out: Mapping[int, Finding],
    takes: Mapping[int, Takes],
    clock: DayClock,
    now: datetime,
) -> list[Stop]:
    begun = [visit for visit in visits if has_begun(visit) and is_on_route(visit, clock.day)]
    may_go = [
        visit
        for visit in visits
        if visit.state == Visit.State.NEEDS_ACTION and visit.pk not in left_out
    ]
    not_before = now if clock.seconds(now) > 0 else None
    forecasts = forecasts_at(now)
    closed = {
        visit.pk: closed_by_weather(visit, clock.day, forecasts) for visit in load_labels(may_go)
    }
    return [
        *(begun_stop(visit, takes[visit.pk], clock) for visit in begun),
        *(stop_of(visit, takes[visit.pk], clock, not_before, closed[visit.pk]) for visit in may_go),
    ]


def _given(
    plan: Plan, visits: Mapping[int, Visit], crews: Mapping[str, Crew], day: date
) -> dict[int, Takes]:
    """Return what each visit of the routes takes with the sprayer and the hands of its crew."""
    return {
        int(halt.key): takes_of(visits[int(halt.key)], [crews[route.shift_key]], day)
        for route in plan.routes
        for halt in route.stops
    }


def _loads(
    plan: Plan,
    given: Mapping[int, Takes],
    begun: set[int],
    lots: FreeStock,
    day: date,
    aboard: Mapping[str, Aboard],
) -> dict[str, TruckLoad]:
    """Return what each truck takes for the visits that have not begun."""
    trucks = {
        route.shift_key: [
            given[int(halt.key)].as_stop(halt.key)
            for halt in route.stops
            if int(halt.key) not in begun
        ]
        for route in plan.routes
    }
    return {load.truck: load for load in load_trucks(trucks, lots.lots, day, aboard)}
