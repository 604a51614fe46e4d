"""Three ways to plan days anew: nothing moves, promised days stay, or everything may move.

What is under way or done stays where it is in all of them, with its crew and its hour.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from services.dispatching.crews import key_of_crew
from services.dispatching.horizons import Horizon, Settled
from services.dispatching.horizons.making import key_of_shift
from services.dispatching.reading import visits_to_plan
from services.dispatching.weeks import waves_of
from services.dispatching.writing import as_json
from services.models import Crew, Dispatch, Planning, Visit
from services.telling.notices import notices_given, people_to_tell

Offer = Planning.Offer
Keys = dict[str, list[str]]


@dataclass(frozen=True, slots=True)
class CameBetween:
    """What came between: the days that are planned anew, who is not there, what is to go as well.

    absent: the ids of crews that are not there, each with the day
    chosen: the ids of visits without a crew that are to get one
    """

    first: date
    last: date
    absent: frozenset[tuple[int, date]] = field(default_factory=frozenset)
    chosen: frozenset[int] = field(default_factory=frozenset)


def horizon_of(between: CameBetween, offer: str) -> Horizon:
    """Return the days of an offer, and what may move on them.

    What has lost its crew may move in each of them.  Where promised days stay, so may what nobody
    was told of.  Where two weeks of a course have a crew, only the earlier moves: the days of the
    later follow from it.
    """
    waiting = Visit.objects.filter(
        state=Visit.State.NEEDS_ACTION, dispatch__day__range=(between.first, between.last)
    )
    on_routes = list(waiting.values_list("pk", "dispatch__crew", "dispatch__day"))
    freed = {pk for pk, crew, day in on_routes if (crew, day) in between.absent}
    if offer != Offer.INSERTION:
        movable = between.chosen.union(*waves_of(pk for pk, *_ in on_routes)[:1])
        freed |= movable if offer == Offer.FREE else movable - _told(visits_to_plan(movable))
    return Horizon(
        between.first, between.last, between.chosen, frozenset(freed), absent=between.absent
    )


def tours_as_they_are(between: CameBetween) -> Keys:
    """Return the routes of the days as the keys of their stops, "" for a refill, by the shift."""
    routes = Dispatch.objects.filter(day__range=(between.first, between.last))
    return {
        key_of_shift(key_of_crew(route.crew), route.day): list(_keys(route.legs))
        for route in routes.select_related("crew")
        if (route.crew_id, route.day) not in between.absent
    }


def offer_of(kind: str, plan: Settled, tours: Keys) -> dict:
    """Return an offer as it is kept and shown: what becomes of each visit, and the counts."""
    visits = [each for each in plan.problem.visits.values() if _is_to_be_made(each)]
    places = _places(plan)
    crews = dict(Crew.objects.values_list("pk", "name"))
    left_out = plan.left_out()
    told = _told(visits)
    rows = [_row(each, places.get(each.pk), crews, told, left_out) for each in visits]
    rows = sorted(rows, key=lambda row: (row["change"] == "stays", row["name"], row["visit"]))
    return {
        "kind": kind,
        "tours": tours,
        "rows": rows,
        "counts": _counts(rows),
        "travel_seconds": sum(route.travel_seconds for route in plan.plan.routes),
    }


def _is_to_be_made(visit: Visit) -> bool:
    return visit.state == Visit.State.NEEDS_ACTION


def _keys(legs: Iterable[Mapping]) -> Iterable[str]:
    for leg in legs:
        if leg["kind"] == "work":
            yield f"{leg['visit']:09}"
        if leg["kind"] == "refill":
            yield ""


def _places(plan: Settled) -> dict[int, dict]:
    """Return where each visit would be: crew, day and hour, by its id."""
    found = {}
    for day, draft in plan.days.items():
        for route in draft.plan.routes:
            for halt in route.stops:
                at = draft.clock.instant(halt.starts).isoformat()
                crew = plan.problem.crews[route.shift_key].pk
                found[int(halt.key)] = {"crew": crew, "day": day.isoformat(), "at": at}
    return found


def _row(
    visit: Visit,
    after: dict | None,
    crews: Mapping[int, str],
    told: set[int],
    left_out: Mapping,
) -> dict:
    before = _place_of(visit)
    change = _change(before, after)
    return {
        "visit": visit.pk,
        "name": f"{visit.course.property.client.name}, {visit.course.property.name}",
        "before": _named(before, crews),
        "after": _named(after, crews),
        "change": change,
        "to_tell": visit.pk in told and change in ("day", "lost"),
        "reason": as_json(left_out[visit.pk]) if visit.pk in left_out and after is None else {},
    }


def _place_of(visit: Visit) -> dict | None:
    if visit.dispatch is None:
        return None
    at = visit.arrives_at.isoformat() if visit.arrives_at else ""
    return {"crew": visit.dispatch.crew_id, "day": visit.dispatch.day.isoformat(), "at": at}


def _named(place: dict | None, crews: Mapping[int, str]) -> dict | None:
    return place and place | {"crew_name": crews.get(place["crew"], "")}


def _change(before: dict | None, after: dict | None) -> str:
    """Return what becomes of a visit, in one word of the program."""
    if before is None:
        return "placed" if after else "still-out"
    if after is None:
        return "lost"
    if before["day"] != after["day"]:
        return "day"
    return "stays" if before["crew"] == after["crew"] else "crew"


def _told(visits: Iterable[Visit]) -> set[int]:
    """Return the ids of visits of whose day somebody was told."""
    visits = list(visits)
    given = notices_given(visits)
    return {
        visit.pk for visit in visits if any(reader.key in given for reader in people_to_tell(visit))
    }


def _counts(rows: Iterable[Mapping]) -> dict[str, int]:
    rows = list(rows)
    counts = {
        word: sum(row["change"] == word for row in rows)
        for word in ("stays", "crew", "day", "lost", "placed", "still-out")
    }
    return counts | {"to_tell": sum(row["to_tell"] for row in rows)}
