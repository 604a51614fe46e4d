"""Makes the drafts of single days of a plan of several."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from services.dispatching import findings as said
from services.dispatching.drafting import Draft, has_begun, mixes_refused
from services.dispatching.horizons.making import crew_and_day
from services.dispatching.horizons.problem import Problem
from services.dispatching.store import aboard_of
from services.dispatching.takes import Takes, takes_of
from services.rules.loading import NOTHING, TruckLoad, left_aboard, load_truck
from services.rules.plans import DAY, Halt, Plan, Route
from services.rules.routing import Search
from services.rules.routing.greedy import Tours
from treatments.rules.facts import LotFacts
from treatments.rules.findings import Finding


@dataclass(frozen=True, slots=True)
class Settled:
    """A plan of several days with the loads of its trucks, cut into the drafts of its days."""

    problem: Problem
    plan: Plan
    tours: Mapping[str, list[str]]
    days: Mapping[date, Draft]

    def left_out(self) -> dict[int, Finding]:
        """Return why visits go on none of the days, by their ids."""
        return {pk: why for draft in self.days.values() for pk, why in draft.left_out.items()}


def settled(problem: Problem, search: Search, tours: Tours) -> Settled:
    """Return the plan of tours; a crew's mix that is refused or that the store lacks stays out."""
    plan = search.plan(tours)
    given = _given(problem, plan)
    loads, short = _loads(problem, plan, given)
    barred = mixes_refused(problem.visits, given) | short
    if barred:
        poorer = problem.without(barred)
        again = poorer.search()
        return settled(poorer, again, again.tours_of(search.keys_of(tours)))
    left_out = {**problem.left_out, **{int(left.key): left.reason for left in plan.left_out}}
    drafts = {
        day: _draft(problem, plan, day, given, loads[day], _of_day(problem, day, left_out))
        for day in problem.clocks
    }
    return Settled(problem, plan, search.keys_of(tours), drafts)


def _draft(
    problem: Problem,
    plan: Plan,
    day: date,
    given: Mapping[int, Takes],
    loads: Mapping[str, TruckLoad],
    left_out: Mapping[int, Finding],
) -> Draft:
    routes = tuple(
        _of_one_day(route, problem.horizon.number(day))
        for route in plan.routes
        if crew_and_day(route.shift_key)[1] == day
    )
    return Draft(
        clock=problem.clocks[day],
        visits=problem.visits,
        takes=problem.known.takes,
        given=given,
        crews=problem.crews,
        plan=Plan(routes, (), 0),
        loads=loads,
        lots=problem.lots,
        left_out=left_out,
        travel=problem.travel,
        seen=problem.seen,
        untouched=frozenset(),
    )


def _given(problem: Problem, plan: Plan) -> dict[int, Takes]:
    """Return what each visit of the routes takes with the sprayer and the hands of its crew."""
    given = {}
    for route in plan.routes:
        crew_key, day = crew_and_day(route.shift_key)
        for halt in route.stops:
            visit = problem.visits[int(halt.key)]
            given[visit.pk] = takes_of(visit, [problem.crews[crew_key]], day)
    return given


def _loads(
    problem: Problem, plan: Plan, given: Mapping[int, Takes]
) -> tuple[dict[date, dict[str, TruckLoad]], dict[int, Finding]]:
    """Return what each truck takes on each day, and what the store lacks, by the visits' ids.

    The days take in their order, so that the lots that expire first go first.
    """
    loads: dict[date, dict[str, TruckLoad]] = defaultdict(dict)
    short: dict[int, Finding] = {}
    lots = problem.lots.lots
    aboard = dict(aboard_of(problem.crews, problem.lots))
    for route in sorted(plan.routes, key=lambda route: crew_and_day(route.shift_key)[::-1]):
        crew_key, day = crew_and_day(route.shift_key)
        waiting = {
            halt.key: given[int(halt.key)]
            for halt in route.stops
            if not has_begun(problem.visits[int(halt.key)])
        }
        short |= _lacking(problem, waiting, lots, day)
        stops = [takes.as_stop(key) for key, takes in waiting.items() if int(key) not in short]
        carried = aboard.get(crew_key, NOTHING)
        load, lots = load_truck(crew_key, stops, lots, day, carried)
        aboard[crew_key] = left_aboard(carried, load.lines)
        loads[day][crew_key] = load
    return loads, short


def _lacking(
    problem: Problem, waiting: Mapping[str, Takes], lots: tuple[LotFacts, ...], day: date
) -> dict[int, Finding]:
    """Return what the store lacks for the stops of a truck, by the ids of the visits."""
    found = {}
    for key, takes in waiting.items():
        need = takes.as_stop(said.shown(problem.visits[int(key)]))
        load, left = load_truck(said.STORE, [need], lots, day)
        if load.shortages:
            found[int(key)] = said.refused(load.shortages[0])
        else:
            lots = left
    return found


def _of_day(problem: Problem, day: date, left_out: Mapping[int, Finding]) -> dict[int, Finding]:
    """Return those left out that belong to a day: that of their route, or the planned one."""
    days = problem.horizon
    found = {}
    for pk, why in left_out.items():
        visit = problem.visits[pk]
        theirs = visit.dispatch.day if visit.dispatch else visit.planned
        if min(max(theirs, days.first), days.last) == day:
            found[pk] = why
    return found


def _of_one_day(route: Route, number: int) -> Route:
    """Return a route with its crew's key and its hours counted from 00:00 of its own day."""
    earlier = number * DAY
    return replace(
        route,
        shift_key=crew_and_day(route.shift_key)[0],
        leaves=route.leaves - earlier,
        returns=route.returns - earlier,
        halts=tuple(_earlier(halt, earlier) for halt in route.halts),
    )


def _earlier(halt: Halt, seconds: int) -> Halt:
    return replace(
        halt,
        arrives=halt.arrives - seconds,
        starts=halt.starts - seconds,
        leaves=halt.leaves - seconds,
    )
