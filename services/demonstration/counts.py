"""Counts of pests before the visits, from what the data says was found on a leaf."""

from math import exp
from typing import Any

from clients.models import Planting
from services.demonstration.places import planting_of
from services.demonstration.reading import moment, read
from services.models import Visit
from treatments.models import Pest
from treatments.scouting import record_count

LEAVES = 20
# How the living on a leaf are spread over the stages, as far as a pest has them.
SHARES = {"larva": 0.15, "nymph": 0.5, "adult": 0.35}
EGGS_PER_LIVING = 0.8


def count_before(visit: Visit, per_leaf: float, by: Any) -> None:
    """Count on every planting of a course, on the day of a visit before it is made.

    Beside it what is left untreated is counted, where the data names such a planting.
    """
    for number, planting in enumerate(visit.course.plantings.all()):
        beside = _left_beside(visit, planting, by)
        _count(visit, planting, per_leaf * (1 - 0.1 * number), by, beside)


def _left_beside(visit: Visit, planting: Planting, by: Any) -> Planting | None:
    place = planting.property.name
    for row in read("season")["left_untreated"]:
        is_of = (row["property"], row["planting"]) == (place, planting.name)
        if is_of and visit.week <= len(row["counts"]):
            left = planting_of(place, row["reference"])
            _count(visit, left, row["counts"][visit.week - 1], by)
            return left
    return None


def _count(
    visit: Visit, planting: Planting, per_leaf: float, by: Any, beside: Planting | None = None
) -> None:
    pest = visit.course.rotation.pest
    stages: dict[str, Any] = dict(spread(pest, round(per_leaf * LEAVES)))
    record_count(
        planting=planting,
        pest=pest,
        scouted_at=moment(visit.planned, 6, 30),
        scouted_by=by,
        leaves_looked_at=LEAVES,
        leaves_infested=infested(per_leaf),
        eggs=round(per_leaf * LEAVES * EGGS_PER_LIVING) if "egg" in pest.stages else 0,
        predators=round(LEAVES / (4 + per_leaf)),
        untreated_reference=beside,
        **stages,
    )


def spread(pest: Pest, living: int) -> dict[str, int]:
    """Return how many of the living are in each stage; together they are as many as were told.

    The columns are named for more than one.
    """
    known = [stage for stage in SHARES if stage in pest.stages]
    whole = sum(SHARES[stage] for stage in known)
    counts = {f"{_plural(stage)}": int(living * SHARES[stage] / whole) for stage in known}
    counts[_plural(known[-1])] += living - sum(counts.values())
    return counts


def infested(per_leaf: float) -> int:
    """Return the leaves with at least one, were they spread by chance; one at least."""
    return max(1, min(LEAVES, round(LEAVES * (1 - exp(-0.5 * per_leaf)))))


def _plural(stage: str) -> str:
    return "larvae" if stage == "larva" else f"{stage}s"
