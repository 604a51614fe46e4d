"""What recorded drives tell of a yard's roads: how much longer they are than they were reckoned.

A drive is recorded where one stop was completed and the next begun on the same route with nothing
but the drive between: no wait, lunch or refill.  It is held against what was reckoned before the
correction of that day, so that a correction is not learned twice.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from services.models import Dispatch, Visit, Yard
from services.rules.travel import LEAST_DRIVES, learned_factor

LOOKED_BACK = timedelta(days=90)  # this project's choice
LONGEST_DRIVE_S = 3 * 3600  # a longer time between two stops was no drive alone

HOURS = ("pk", "started_at", "completed_at")
Drive = tuple[float, float]
Hours = tuple[datetime | None, datetime | None]


@dataclass(frozen=True, slots=True)
class LearnedDriving:
    """What a yard's recorded drives tell; factor is 1 where there are too few of them."""

    yard: Yard
    drives: int
    factor: float

    def is_used(self) -> bool:
        """Say whether there are drives enough to correct by."""
        return self.drives >= LEAST_DRIVES


def driving_learned(yards: Iterable[Yard], now: datetime) -> list[LearnedDriving]:
    """Return what is learned of each yard's roads, in two queries."""
    days = ((now - LOOKED_BACK).date(), now.date())
    made = Visit.objects.filter(dispatch__day__range=days, started_at__isnull=False)
    hours = {pk: (began, done) for pk, *(began, done) in made.values_list(*HOURS)}
    by_yard: dict[int, list[Drive]] = {}
    routes = Dispatch.objects.filter(day__range=days)
    for yard, legs, travel in routes.values_list("crew__yard", "legs", "travel"):
        by_yard.setdefault(yard, []).extend(drives_recorded(legs, travel, hours))
    return [_learned(yard, by_yard.get(yard.pk, [])) for yard in yards]


def drives_recorded(
    legs: Sequence[Mapping], travel: Mapping, hours: Mapping[int, Hours]
) -> list[Drive]:
    """Return the recorded drives of a route, each with what it was reckoned at.

    legs, travel: as a dispatch keeps them
    hours: when visits were begun and completed, by their ids
    """
    factor = float(travel.get("factor", 1))
    return [
        (recorded, reckoned / factor)
        for before, reckoned, after in _straight_on(legs)
        if (recorded := _between(hours.get(before), hours.get(after))) is not None
    ]


def _learned(yard: Yard, drives: list[Drive]) -> LearnedDriving:
    return LearnedDriving(yard, len(drives), learned_factor(drives) or 1.0)


def _straight_on(legs: Sequence[Mapping]) -> Iterator[tuple[int, float, int]]:
    """Yield work, drive and work that follow one another: a visit, seconds, the next visit."""
    for number, (drive, work) in enumerate(pairwise(legs)):
        if number and drive["kind"] == "travel" and work.get("visit"):
            before = legs[number - 1].get("visit")
            starts, ends = (datetime.fromisoformat(drive[end]) for end in ("from", "until"))
            if before:
                yield before, (ends - starts).total_seconds(), work["visit"]


def _between(before: Hours | None, after: Hours | None) -> float | None:
    left, came = before and before[1], after and after[0]
    if left is None or came is None:
        return None
    seconds = (came - left).total_seconds()
    return seconds if 0 < seconds <= LONGEST_DRIVE_S else None
