"""Loads clients, their properties, neighbours and plantings."""

from datetime import time
from typing import Any

from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from services.demonstration.reading import plain, read
from services.demonstration.yard import kept

FILES = ("places_pennsylvania", "places_new_jersey")


def load_places() -> None:
    """Load all clients with what is theirs; their email addresses come later."""
    for name in FILES:
        for row in read(name)["clients"]:
            _load_client(row)


def enter_emails() -> None:
    """Enter the addresses that the clients gave last, so that letters begin with this week's."""
    for name in FILES:
        for row in read(name)["clients"]:
            client = Client.objects.get(name=row["name"])
            client.email = row["email"]
            kept(client)


def planting_of(place: str, name: str) -> Planting:
    """Return a planting by the names of its property and its own."""
    return Planting.objects.select_related("property__client").get(property__name=place, name=name)


def _load_client(row: dict[str, Any]) -> None:
    client = kept(Client(**plain(row, "properties", "email")))
    for place in row["properties"]:
        _load_property(client, place)


def _load_property(client: Client, row: dict[str, Any]) -> None:
    place = kept(Property(client=client, **plain(row, "plantings", "neighbours", "access")))
    for weekday, opens, closes in row.get("access", []):
        kept(
            AccessWindow(
                property=place,
                weekday=weekday,
                opens=time.fromisoformat(opens),
                closes=time.fromisoformat(closes),
            )
        )
    for neighbour in row.get("neighbours", []):
        kept(Neighbour(property=place, **neighbour))
    for planting in row["plantings"]:
        _load_planting(place, *planting)


def _load_planting(
    place: Property, name: str, kind: str, plants: int, length: int, width: int, height: int
) -> None:
    kept(
        Planting(
            property=place,
            name=name,
            plants=plants,
            length_ft=length,
            width_ft=width,
            height_ft=height,
            **read("plants")[kind],
        )
    )
