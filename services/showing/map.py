"""The ways of a day's crews as a map needs them: points, numbers and words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse
from django.utils.translation import get_language

from services.models import Dispatch
from services.sheets.dates import clock
from services.showing.day import Leg, legs_of

Degrees = tuple[float, float]


@dataclass(frozen=True, slots=True)
class MapStop:
    """A stop of a crew: its mark on the map, what it is called, when, and where."""

    key: int
    mark: str
    name: str
    at: str
    url: str
    point: Degrees


@dataclass(frozen=True, slots=True)
class MapRoute:
    """A crew's way from the yard through its stops.

    way: the points in order, the yard first, last, and in between where the tank is filled there
    """

    crew: str
    yard: str
    yard_point: Degrees
    stops: tuple[MapStop, ...]
    way: tuple[Degrees, ...]


def routes_on_map(dispatches: Iterable[Dispatch]) -> list[MapRoute]:
    """Return the ways of crews; a stop is marked by the beginning of the crew's name and a number.

    The dispatches are loaded by `dispatches_for`.
    """
    dispatches = list(dispatches)
    beginnings = beginnings_of([dispatch.crew.name for dispatch in dispatches])
    return [_route(dispatch, beginnings[dispatch.crew.name]) for dispatch in dispatches]


def map_facts(routes: Iterable[MapRoute]) -> dict:
    """Return the ways as plain values for the script that draws them, with the tiles if any."""
    return {
        "tiles": settings.MAP_TILES or None,
        "credit": settings.MAP_TILES_CREDIT,
        "routes": [
            {
                "crew": route.crew,
                "yard": {"name": route.yard, "point": route.yard_point},
                "way": route.way,
                "stops": [
                    {
                        "key": stop.key,
                        "mark": stop.mark,
                        "name": stop.name,
                        "at": stop.at,
                        "url": stop.url,
                        "point": stop.point,
                    }
                    for stop in route.stops
                ],
            }
            for route in routes
        ],
    }


def beginnings_of(names: Sequence[str]) -> dict[str, str]:
    """Return the shortest beginnings by which names differ, one for all of the same length.

    >>> beginnings_of(["Alder", "Moth"]), beginnings_of(["Alder", "Ash"])
    ({'Alder': 'A', 'Moth': 'M'}, {'Alder': 'Al', 'Ash': 'As'})
    """
    longest = max(map(len, names), default=1)
    for length in range(1, longest + 1):
        cut = {name: name[:length].strip() for name in names}
        if len(set(cut.values())) == len(set(names)):
            return cut
    return {name: name for name in names}


def _route(dispatch: Dispatch, beginning: str) -> MapRoute:
    yard = dispatch.crew.yard
    zone, language = yard.zone(), get_language() or "en"
    legs = legs_of(dispatch)
    stops = tuple(
        MapStop(
            key=leg.visit.pk,
            mark=f"{beginning}{leg.number}",
            name=leg.visit.course.property.name,
            at=clock(leg.starts.astimezone(zone), language),
            url=reverse("services:visit", args=[leg.visit.pk]),
            point=_point(leg.visit.course.property),
        )
        for leg in legs
        if leg.visit
    )
    return MapRoute(dispatch.crew.name, yard.name, _point(yard), stops, _way(legs, _point(yard)))


def _way(legs: Iterable[Leg], yard: Degrees) -> tuple[Degrees, ...]:
    """Return the points of a crew's day in order, by way of the yard where the tank is filled."""
    halts = [
        yard if leg.visit is None else _point(leg.visit.course.property)
        for leg in legs
        if leg.is_refill or leg.visit
    ]
    return yard, *halts, yard


def _point(place) -> Degrees:
    return float(place.latitude), float(place.longitude)
