"""The legs of a route after a stop has left it: who is still on it keeps the hour they were told.

A leg is a mapping with its kind and the instants [ISO 8601] from and until which it lasts, as a
dispatch keeps it; one of work has its visit, one of rinsing the visit after which it is made.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

Leg = Mapping
Stretch = tuple[datetime, datetime]
Way = Callable[[int | None, int | None], tuple[int, int]]
CALLS = ("work", "refill")


def legs_without(
    legs: Sequence[Leg], visit: int, mixes: Mapping[int, Hashable], way: Way
) -> list[dict]:
    """Return the legs of a route that a visit has left.

    The crew drives straight from the call before to the next and comes there when it would have
    come; it waits before it leaves, sets out later in the morning, or is back earlier.  A lunch
    that falls within the drive is taken on the way.  The sprayer is rinsed where it now must be.
    mixes: what is sprayed at each stop, by its visit; stops at which nothing is are not in it
    way: gives seconds and meters between the places of two visits, None being the yard
    """
    kept = _rinsed_anew(legs, visit, mixes)
    place = next(number for number, leg in enumerate(kept) if leg.get("visit") == visit)
    before = next((n for n in range(place - 1, -1, -1) if _is_call(kept[n])), None)
    after = next((n for n in range(place + 1, len(kept)) if _is_call(kept[n])), None)
    head = [] if before is None else kept[: before + 1]
    tail = [] if after is None else kept[_arrival(kept, after) :]
    between = kept[len(head) : len(kept) - len(tail)]
    stays = _staying(between)
    free = _free(between, stays, is_last=after is None)
    start = head[-1].get("visit") if head else None
    drive = way(start, None if after is None else kept[after].get("visit"))
    found = _driven(free, drive, is_last=after is None)
    if head and tail:
        found += _waits(free, found)
    return [dict(leg) for leg in (*head, *sorted([*stays, *found], key=_from), *tail)]


def leaves_and_returns(legs: Sequence[Leg]) -> tuple[datetime, datetime]:
    """Return when the crew of a route leaves the yard and when it is back."""
    away = [leg for leg in legs if leg["kind"] not in ("lunch", "wait")]
    return _from(away[0]), _until(away[-1])


def _rinsed_anew(legs: Sequence[Leg], visit: int, mixes: Mapping[int, Hashable]) -> list[Leg]:
    """Return the legs with rinses where two mixes meet once a visit has gone, and no others."""
    sprayed = [leg["visit"] for leg in legs if leg.get("visit") in mixes]
    left = [each for each in sprayed if each != visit]
    wanted = {a for a, b in pairwise(left) if mixes[a] != mixes[b]}
    rinsed = {leg["after"] for leg in legs if "after" in leg}
    found: list[Leg] = []
    for leg in legs:
        if leg.get("after") == visit and (missing := wanted - rinsed):
            found.append({**leg, "after": missing.pop()})
        elif "after" not in leg or leg["after"] in wanted:
            found.append(leg)
        elif leg["after"] != visit:
            found.append(_leg("wait", _from(leg), _until(leg)))
    return found


def _staying(between: Sequence[Leg]) -> list[Leg]:
    """Return the lunches and rinses between two calls; a sprayer is rinsed where it was used."""
    lunches = [leg for leg in between if leg["kind"] == "lunch"]
    stays = list(lunches)
    for leg in between:
        if leg["kind"] == "rinse":
            starts, takes = _from(between[0]), _until(leg) - _from(leg)
            if any(_from(lunch) < starts + takes for lunch in lunches):
                starts = max(_until(lunch) for lunch in lunches)
            times = _leg("rinse", starts, starts + takes)
            stays.append({**leg, **times})
    return sorted(stays, key=_from)


def _is_call(leg: Leg) -> bool:
    return leg["kind"] in CALLS


def _arrival(legs: Sequence[Leg], call: int) -> int:
    """Return the number of the first leg at the place of a call: a wait for its hour, or itself."""
    return call - 1 if call and legs[call - 1]["kind"] == "wait" else call


def _free(between: Sequence[Leg], stays: Iterable[Leg], *, is_last: bool) -> list[Stretch]:
    """Return the stretches in which nothing stays, the last without an end on the way home."""
    clock, ends = _from(between[0]), _until(between[-1])
    free: list[Stretch] = []
    for leg in stays:
        free.append((clock, _from(leg)))
        clock = max(clock, _until(leg))
    free.append((clock, ends + timedelta(days=1) if is_last else ends))
    return [(opens, closes) for opens, closes in free if opens < closes]


def _driven(free: Sequence[Stretch], drive: tuple[int, int], *, is_last: bool) -> list[dict]:
    """Return the driving: as late as it may be, or on the way home as early.

    A way for which there is less time is cut to it: the one by the place that was left fits.
    """
    seconds, metres = drive
    left, found = timedelta(seconds=seconds), list[dict]()
    for opens, closes in free if is_last else reversed(free):
        takes = min(left, closes - opens)
        starts = opens if is_last else closes - takes
        if takes:
            share = {"metres": round(metres * takes.total_seconds() / seconds)}
            found.append(_leg("travel", starts, starts + takes) | share)
        left -= takes
    return found


def _waits(free: Iterable[Stretch], driven: Iterable[Leg]) -> list[dict]:
    """Return the rest of the stretches, in which the crew waits because a stop has left."""
    rest = []
    for opens, closes in free:
        ends = min((_from(leg) for leg in driven if opens <= _from(leg) < closes), default=closes)
        if opens < ends:
            rest.append(_leg("wait", opens, ends) | {"left": True})
    return rest


def _leg(kind: str, starts: datetime, ends: datetime) -> dict:
    return {"kind": kind, "from": starts.isoformat(), "until": ends.isoformat()}


def _from(leg: Leg) -> datetime:
    return datetime.fromisoformat(leg["from"])


def _until(leg: Leg) -> datetime:
    return datetime.fromisoformat(leg["until"])
