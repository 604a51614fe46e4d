"""Every address of the program, found by walking its table, and who may do what there."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.urls import get_resolver
from django.urls.resolvers import URLResolver

MATRIX = tomllib.loads(Path(__file__).with_name("matrix.toml").read_text(encoding="utf-8"))
METHODS = ("get", "post", "put", "patch", "delete")
PLACE = re.compile(r"<(?:\w+:)?(\w+)>")
# What belongs to one client, or to one crew's day: the names by which it stands in an address.
BELONGS_TO_SOMEBODY = {
    "client_id",
    "count_id",
    "course_id",
    "dispatch_id",
    "estimate_id",
    "hold_id",
    "link_id",
    "made_id",
    "neighbour_id",
    "number",
    "photo",
    "planting_id",
    "payment_id",
    "property_id",
    "statement_number",
    "visit_id",
    "water_test_id",
    "window_id",
}


@dataclass(frozen=True, slots=True)
class Address:
    """One line of the matrix."""

    route: str
    rights: dict

    def named(self) -> list[str]:
        """Return the names of the things of the book that stand in the address."""
        return [self.rights.get(place, place) for place in PLACE.findall(self.route)]

    def filled(self, things: dict) -> str:
        """Return the address of these things."""

        def value(place):
            name = self.rights.get(place[1], place[1])
            return str(things.get(name, name))

        return "/" + PLACE.sub(value, self.route)

    def allowed(self, method: str) -> list[str]:
        """Return the roles that may do this here."""
        return MATRIX["groups"][self.rights.get(method, "nobody")]

    def is_of_somebody(self) -> bool:
        """Say whether the thing in the address is one client's or one crew's."""
        return not BELONGS_TO_SOMEBODY.isdisjoint(self.named())


def addresses() -> list[Address]:
    """Return the matrix, line by line."""
    return [Address(*line) for part in ("pages", "api") for line in MATRIX[part].items()]


def routes() -> set[str]:
    """Return every route of the program but those of the owner's desk."""
    found = {route for route, _view in walked(get_resolver().url_patterns)}
    return {route for route in found if not route.startswith("admin/")}


def views() -> list:
    """Return what answers at the addresses of the project's own."""
    return [view for _route, view in walked(get_resolver().url_patterns)]


def walked(patterns, before: str = "") -> Iterator[tuple[str, object]]:
    """Yield each route with its view; the API's twins for a format are not told apart."""
    for pattern in patterns:
        route = before + readable(str(pattern.pattern))
        if isinstance(pattern, URLResolver):
            yield from walked(pattern.url_patterns, route)
        elif "format>" not in route:
            yield route, pattern.callback


def readable(pattern: str) -> str:
    """Return a route as it stands in the matrix, without the signs of regular expressions.

    >>> readable(r"^records/(?P<number>[^/.]+)/amend/$")
    'records/<number>/amend/'
    """
    plain = re.sub(r"\(\?P<(\w+)>[^)]*\)", r"<\1>", pattern)
    return plain.removeprefix("^").removesuffix("$").removesuffix(r"\Z")
