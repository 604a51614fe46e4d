"""Checks a finished plan against what it was asked for, knowing nothing of how it was made."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from services.rules.plans import (
    DAY,
    CrewShift,
    Halt,
    HaltKind,
    Plan,
    Route,
    Stop,
    Travel,
    bare,
)
from services.rules.travel import Point, road_matrix
from treatments.rules.findings import Finding, Severity, gettext_noop


def check_plan(
    plan: Plan,
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    *,
    travel: Travel = road_matrix,
) -> list[Finding]:
    """Return what is wrong with a plan: nothing, if it holds.

    travel: gives seconds between points, as the plan was made with

    >>> check_plan(Plan(routes=(), left_out=(), cost_seconds=0), [], [])
    []
    """
    stop_of = {stop.key: stop for stop in stops}
    shift_of = {shift.key: shift for shift in shifts}
    faults = list(_counted(plan, stop_of, shift_of))
    for route in plan.routes:
        made = [halt.key for halt in route.halts if halt.key]
        if route.shift_key in shift_of and all(key in stop_of for key in made):
            faults += _route_faults(route, shift_of[route.shift_key], stop_of, travel)
    return faults


def plan_cost(
    plan: Plan,
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    *,
    travel: Travel = road_matrix,
) -> int:
    """Return what a plan that holds counts: driving, stops left out and days away, in seconds.

    >>> plan_cost(Plan(routes=(), left_out=(), cost_seconds=0), [], [])
    0
    """
    stop_of = {stop.key: stop for stop in stops}
    shift_of = {shift.key: shift for shift in shifts}
    cost = sum(stop_of[left.key].prize() for left in plan.left_out)
    for route in plan.routes:
        places = _places(route, shift_of[route.shift_key], stop_of)
        seconds = travel(places).seconds
        cost += sum(seconds[leg][leg + 1] for leg in range(len(places) - 1))
        cost += sum(stop_of[halt.key].away(halt.starts // DAY) for halt in route.stops)
    return cost


def _counted(
    plan: Plan, stop_of: Mapping[str, Stop], shift_of: Mapping[str, CrewShift]
) -> Iterator[Finding]:
    """Find stops and shifts that are unknown, or are there more than once or not at all."""
    made = Counter(halt.key for route in plan.routes for halt in route.stops)
    made.update(left.key for left in plan.left_out)
    driven = Counter(route.shift_key for route in plan.routes)
    for key in sorted(made.keys() | stop_of.keys()):
        if key not in stop_of or made[key] != 1:
            yield _fault("stop-not-once", STOP_NOT_ONCE, stop=key, times=made[key])
    for key in sorted(driven):
        if key not in shift_of or driven[key] != 1:
            yield _fault("shift-not-once", SHIFT_NOT_ONCE, crew=key, times=driven[key])


def _route_faults(
    route: Route, shift: CrewShift, stop_of: Mapping[str, Stop], travel: Travel
) -> Iterator[Finding]:
    yield from _drive_faults(route, shift, stop_of, travel)
    for halt in route.stops:
        yield from _stop_faults(halt, stop_of[halt.key], shift)
    yield from _tank_faults(route, shift, stop_of)
    yield from _rinse_faults(route, shift, stop_of)
    yield from _lunch_faults(route, shift)
    if route.leaves < shift.starts or max(_ends(route)) > shift.ends:
        yield _fault("outside-shift", OUTSIDE_SHIFT, crew=shift.shown())


def _drive_faults(
    route: Route, shift: CrewShift, stop_of: Mapping[str, Stop], travel: Travel
) -> Iterator[Finding]:
    """Find legs that are quicker than the road, and halts that are over before they begin."""
    places = _places(route, shift, stop_of)
    seconds = travel(places).seconds
    clock = route.leaves
    for number, halt in enumerate(_on_the_road(route), start=1):
        drive = seconds[number - 1][number]
        if halt.arrives < clock + drive or halt.drive_seconds != drive:
            yield _fault("too-quick", TOO_QUICK, crew=shift.shown(), stop=halt.key or halt.kind)
        if not halt.arrives <= halt.starts <= halt.leaves:
            yield _fault("halt-backward", HALT_BACKWARD, crew=shift.shown(), stop=halt.key)
        clock = halt.leaves
    if route.returns < clock + seconds[-2][-1] or route.back_seconds != seconds[-2][-1]:
        yield _fault("too-quick", TOO_QUICK, crew=shift.shown(), stop=gettext_noop("the yard"))


def _stop_faults(halt: Halt, stop: Stop, shift: CrewShift) -> Iterator[Finding]:
    if not any(opens <= halt.starts <= closes for opens, closes in stop.windows):
        yield _fault("outside-window", OUTSIDE_WINDOW, stop=stop.shown())
    if halt.leaves - halt.starts < stop.service_seconds:
        yield _fault("too-short", TOO_SHORT, stop=stop.shown())
    missing = stop.needs - shift.has
    if missing:
        facts = {"crew": shift.shown(), "stop": stop.shown(), "needs": bare(missing)}
        yield _fault("need-not-met", NEED_NOT_MET, **facts)


def _tank_faults(route: Route, shift: CrewShift, stop_of: Mapping[str, Stop]) -> Iterator[Finding]:
    drawn = Decimal(0)
    for halt in route.halts:
        if halt.kind is HaltKind.STOP:
            drawn += stop_of[halt.key].spray_gallons
        if halt.kind is HaltKind.RINSE:
            drawn += stop_of[halt.key].rinse_gallons
        if halt.kind is HaltKind.REFILL:
            drawn = Decimal(0)
            if halt.leaves - halt.starts < shift.refill_seconds:
                yield _fault("refill-too-short", REFILL_TOO_SHORT, crew=shift.shown())
        if drawn > shift.tank_gallons:
            yield _fault("tank-empty", TANK_EMPTY, crew=shift.shown(), stop=halt.key)


def _rinse_faults(route: Route, shift: CrewShift, stop_of: Mapping[str, Stop]) -> Iterator[Finding]:
    """Find stops at which the sprayer still holds the mix of another, and rinses cut short."""
    held: Stop | None = None
    for halt in route.halts:
        if halt.kind is HaltKind.RINSE and held is not None:
            is_short = halt.leaves - halt.starts < held.rinse_seconds
            if halt.key != held.key or is_short:
                yield _fault("rinse-too-short", RINSE_TOO_SHORT, crew=shift.shown())
            held = None
        if halt.kind is HaltKind.STOP and (stop := stop_of[halt.key]).mix:
            if held is not None and held.mix != stop.mix:
                yield _fault("not-rinsed", NOT_RINSED, crew=shift.shown(), stop=stop.shown())
            held = stop


def _lunch_faults(route: Route, shift: CrewShift) -> Iterator[Finding]:
    window = shift.lunch_window()
    lunches = [halt for halt in route.halts if halt.kind is HaltKind.LUNCH]
    if window is None and not lunches:
        return
    opens, closes = window or (0, -1)
    if (
        len(lunches) != 1
        or not opens <= lunches[0].starts <= closes
        or lunches[0].leaves - lunches[0].starts < shift.lunch_seconds
    ):
        yield _fault("no-lunch", NO_LUNCH, crew=shift.shown())


def _on_the_road(route: Route) -> list[Halt]:
    """Return the halts between leaving the yard and the return; lunch may be before or after."""
    return [
        halt
        for halt in route.halts
        if halt.kind is not HaltKind.LUNCH
        or (halt.leaves > route.leaves and halt.starts < route.returns)
    ]


def _places(route: Route, shift: CrewShift, stop_of: Mapping[str, Stop]) -> list[Point]:
    """Return where the crew stands from yard to yard; lunch is taken where it stands."""
    places = [shift.yard]
    for halt in _on_the_road(route):
        if halt.kind is HaltKind.STOP:
            places.append(stop_of[halt.key].point)
        else:
            places.append(shift.yard if halt.kind is HaltKind.REFILL else places[-1])
    return [*places, shift.yard]


def _ends(route: Route) -> list[int]:
    return [route.returns, *(halt.leaves for halt in route.halts)]


def _fault(code: str, sentence: str, **facts: object) -> Finding:
    return Finding(code, Severity.REFUSAL, sentence, facts=facts, source="common practice")


STOP_NOT_ONCE = gettext_noop("The stop %(stop)s is in the plan %(times)s times instead of once.")
SHIFT_NOT_ONCE = gettext_noop("The crew %(crew)s is unknown or has %(times)s routes.")
OUTSIDE_SHIFT = gettext_noop("%(crew)s is out before or after its shift.")
TOO_QUICK = gettext_noop("%(crew)s would reach %(stop)s quicker than the road allows.")
HALT_BACKWARD = gettext_noop("%(crew)s would leave %(stop)s before the work there begins.")
OUTSIDE_WINDOW = gettext_noop("The work at %(stop)s would start outside its hours.")
TOO_SHORT = gettext_noop("There is not enough time for the work at %(stop)s.")
NEED_NOT_MET = gettext_noop("%(crew)s lacks what %(stop)s needs: %(needs)s.")
REFILL_TOO_SHORT = gettext_noop("%(crew)s has not enough time to refill.")
TANK_EMPTY = gettext_noop("The tank of %(crew)s would be empty before %(stop)s is done.")
RINSE_TOO_SHORT = gettext_noop("%(crew)s has not enough time to rinse the sprayer.")
NOT_RINSED = gettext_noop("%(crew)s comes to %(stop)s with another mix in the sprayer.")
NO_LUNCH = gettext_noop("%(crew)s has no break in the hours in which it is due.")
