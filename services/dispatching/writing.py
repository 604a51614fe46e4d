"""Writes a drafted day: dispatches, the places and hours of visits, and the loads.

What is already as drafted is left alone, with its id and version.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.contrib.auth.models import User
from django.db.models import F

from services.dispatching.drafting import Draft, has_begun
from services.dispatching.stops import work_leg
from services.journaling import journal_dispatch
from services.models import Dispatch, Hook, Visit
from services.routes import OFF_ROUTE, keep_load, signs_of, water_of
from services.rules.plans import Halt, HaltKind, Route
from services.telling.hooks import announce
from services.travelling import point_of
from treatments.rules.findings import Finding, number_of

GIVEN = "handed out"


def write_day(draft: Draft, *, by: User | None, now: datetime) -> bool:
    """Write a draft, and say whether anything changed."""
    changed = False
    for route in draft.plan.routes:
        dispatch, is_changed = _dispatch(draft, route, by, now)
        for position, halt in enumerate(route.stops, start=1):
            visit = draft.visits[int(halt.key)]
            # One that was begun keeps its hours; its number follows those that come before it.
            columns = (
                {"position": position}
                if has_begun(visit)
                else _on_route(draft, dispatch, position, halt, visit)
            )
            is_changed |= _change(visit, columns)
        keep_load(dispatch)
        if is_changed:
            journal_dispatch(dispatch, kind=GIVEN, by=by, at=now)
            once = f"{dispatch.pk}:{now.isoformat()}"
            announce(Hook.Event.ROUTE_DISPATCHED, {"dispatch": dispatch.pk}, once=once, at=now)
        changed |= is_changed
    for pk, reason in draft.left_out.items():
        changed |= _stay(draft, draft.visits[pk], reason)
    empty = Dispatch.objects.filter(day=draft.clock.day, visits__isnull=True)
    return bool(empty.delete()[0]) or changed


def as_json(reason: Finding) -> dict:
    """Return a reason as it is kept on the visit: code, sentence with its places, facts."""
    plain = (str, int, float, bool, type(None))
    facts = {
        name: fact if isinstance(fact, plain) else str(fact) for name, fact in reason.facts.items()
    }
    return {
        "code": reason.code,
        "sentence": number_of(reason.sentence, reason.facts),
        "remedy": reason.remedy,
        "facts": facts,
    }


def _dispatch(draft: Draft, route: Route, by: User | None, now: datetime) -> tuple[Dispatch, bool]:
    legs = legs_of(draft, route)
    columns = {
        "leaves_yard_at": draft.clock.instant(route.leaves),
        "returns_at": draft.clock.instant(route.returns),
        "legs": legs,
        "travel": _travel(draft, route),
        "water_gallons": water_of(legs),
        "signs": signs_of(legs),
    }
    dispatch, is_new = Dispatch.objects.get_or_create(
        crew=draft.crews[route.shift_key],
        day=draft.clock.day,
        defaults=columns | {"made_at": now, "made_by": by},
    )
    if is_new or all(getattr(dispatch, name) == value for name, value in columns.items()):
        return dispatch, is_new
    for name, value in columns.items():
        setattr(dispatch, name, value)
    dispatch.made_at, dispatch.made_by = now, by
    dispatch.save()
    return dispatch, True


def _travel(draft: Draft, route: Route) -> dict[str, object]:
    """Return how the driving of a route was reckoned, and which ways no road server told."""
    yard = draft.crews[route.shift_key].yard
    stops = {halt: draft.visits[int(halt.key)].course.property for halt in route.stops}
    calls = [halt for halt in route.halts if halt.kind in (HaltKind.STOP, HaltKind.REFILL)]
    places = [yard, *(stops.get(halt, yard) for halt in calls), yard]
    return {
        "by": "roads" if draft.travel.server else "straight",
        "factor": draft.travel.factor_at(point_of(yard)),
        "untold": draft.travel.untold(places),
    }


def _on_route(
    draft: Draft, dispatch: Dispatch, position: int, halt: Halt, visit: Visit
) -> dict[str, object]:
    day = draft.clock.day
    return {
        "dispatch_id": dispatch.pk,
        "position": position,
        "arrives_at": draft.clock.instant(halt.arrives),
        "leaves_at": draft.clock.instant(halt.leaves),
        "planned": day if visit.earliest <= day <= visit.latest else visit.planned,
        "left_out": {},
    }


def _stay(draft: Draft, visit: Visit, reason: Finding) -> bool:
    """Keep why a visit has no crew; one that has a crew on another day stays there."""
    if visit.dispatch and visit.dispatch.day != draft.clock.day:
        return False
    off = {
        "dispatch_id" if name == "dispatch" else name: value for name, value in OFF_ROUTE.items()
    }
    return _change(visit, off | {"left_out": as_json(reason)})


def _change(visit: Visit, columns: Mapping[str, object]) -> bool:
    """Write what differs and count the version up; say whether anything did."""
    differs = {name: value for name, value in columns.items() if getattr(visit, name) != value}
    if not differs:
        return False
    Visit.objects.filter(pk=visit.pk).update(**differs, version=F("version") + 1)
    return True


def legs_of(draft: Draft, route: Route) -> list[dict]:
    """Return a route as the legs of its dispatch, in order of time."""
    legs = [leg for halt in route.halts for leg in _halt_legs(draft, route, halt)]
    back = _leg(draft, "travel", route.returns - route.back_seconds, route.returns)
    if route.back_seconds:
        legs.append(back | {"metres": route.back_metres})
    return sorted(legs, key=lambda leg: (leg["from"], leg["until"]))


def _halt_legs(draft: Draft, route: Route, halt: Halt) -> Iterable[dict]:
    if halt.drive_seconds:
        travel = _leg(draft, "travel", halt.arrives - halt.drive_seconds, halt.arrives)
        yield travel | {"metres": halt.drive_metres}
    if halt.waits:
        yield _leg(draft, "wait", halt.arrives, halt.starts)
    kind = "work" if halt.kind is HaltKind.STOP else halt.kind.value
    leg = _leg(draft, kind, halt.starts, halt.leaves)
    if halt.kind is HaltKind.STOP:
        leg |= _work(draft, route, int(halt.key))
    if halt.kind is HaltKind.RINSE:
        leg |= {"after": int(halt.key), "gallons": str(draft.given[int(halt.key)].rinse_gallons)}
    yield leg


def _work(draft: Draft, route: Route, visit_id: int) -> dict[str, object]:
    """Return what a visit takes; for one that was begun, what its truck was given for it."""
    visit, given = draft.visits[visit_id], draft.given[visit_id]
    leg = work_leg(visit.dispatch, visit) if has_begun(visit) else None
    return {
        "visit": visit_id,
        "gallons": leg["gallons"] if leg else str(given.gallons),
        "signs": leg["signs"] if leg else given.signs,
        "takes": leg.get("takes", []) if leg else _drawn(draft, route, visit_id),
    }


def _drawn(draft: Draft, route: Route, visit_id: int) -> list[dict]:
    return [
        {"lot": draft.lots.ids[draw.product, draw.lot_number], "amount": str(draw.amount)}
        for draw in draft.loads[route.shift_key].draws
        if int(draw.stop_key) == visit_id
    ]


def _leg(draft: Draft, kind: str, starts: int, ends: int) -> dict[str, object]:
    return {"kind": kind, "from": draft.clock.shown(starts), "until": draft.clock.shown(ends)}
