"""Divides the visits of a big week among the yards, each of which is planned by itself."""

from collections.abc import Iterable, Mapping
from datetime import date

from services.dispatching.crews import crews_at_work, has_of, needs_of
from services.dispatching.reading import visits_to_plan
from services.models import Visit, Yard
from services.rules.travel import great_circle_m
from services.travelling import point_of

MOST_TOGETHER = 100  # so many visits are planned with the crews of all yards; our own choice


def by_yard(visit_ids: Iterable[int], day: date) -> dict[int | None, list[int]]:
    """Return the ids of visits by the id of the yard whose crews are to make them.

    That is the yard of a visit's route, else the nearest one of which some crew holds the
    certificate and has the sprayer on a day; where none has, the nearest.  What lies nobody knows
    where goes with the first, where its reason is told.  All go together, under None, where they
    are few or one yard alone has crews.
    """
    visit_ids, crews = list(visit_ids), crews_at_work()
    yards = sorted({crew.yard for crew in crews}, key=lambda yard: yard.name)
    if len(visit_ids) <= MOST_TOGETHER or len(yards) < 2:
        return {None: visit_ids}
    visits = visits_to_plan(visit_ids)
    needs = {visit.pk: needs_of(visit) for visit in visits}
    of_all = frozenset().union(*needs.values())
    haves: dict[Yard, list[frozenset[str]]] = {yard: [] for yard in yards}
    for crew in crews:
        haves[crew.yard].append(has_of(crew, of_all, day))
    found: dict[int | None, list[int]] = {}
    for visit in visits:
        found.setdefault(_yard_of(visit, needs[visit.pk], haves), []).append(visit.pk)
    return found


def _yard_of(
    visit: Visit, needs: frozenset[str], haves: Mapping[Yard, list[frozenset[str]]]
) -> int:
    """Return the id of the yard that a visit goes with.

    haves: what each crew of each yard has
    """
    place = visit.course.property
    if visit.dispatch is not None:
        return visit.dispatch.crew.yard_id
    able = [yard for yard, crews in haves.items() if any(needs <= has for has in crews)]
    yards = able or list(haves)
    if place.latitude is None or place.longitude is None:
        return yards[0].pk
    return min(yards, key=lambda yard: great_circle_m(point_of(place), point_of(yard))).pk
