"""Makes up clients with their properties and plantings."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import islice
from random import Random
from typing import Any

from django.db import transaction

from clients.models import Client, Planting, Property
from services.demonstration.reading import read
from services.generating.wanted import Wanted

GIVEN = [
    *("Abelone", "Bartram", "Celestine", "Dunstan", "Eudora", "Florian", "Gwendal", "Hyacinth"),
    *("Isidore", "Jessamy", "Kenelm", "Leocadia", "Mortimer", "Nerissa", "Osric", "Philippa"),
]
SURNAMES = [
    [*("Ash", "Brindle", "Candle", "Dapple", "Elder", "Fennel", "Gravel", "Hazel", "Inkle")],
    [*("berry", "combe", "croft", "down", "field", "garth", "hurst", "ingham", "low", "mere")],
]
STREETS = ["Ferryslip Street", "Quarrystone Lane", "Towpath Road", "Lockkeeper Row", "Osier Walk"]
TOWNS = [("Yardley", "19067"), ("Wrightstown", "18940"), ("Washington Crossing", "18977")]
GROUNDS = ["House", "Courtyard", "Terrace", "Front garden", "Pavilion", "Gatehouse"]
KINDS = [  # of plants.toml, and how often each is met beside the others
    *(("burning-bush", 10), ("rose", 9), ("dwarf-spruce", 6), ("spruce-hedge", 5)),
    *(("boxwood", 12), ("azalea", 10), ("crape-myrtle", 5), ("wintercreeper", 6), ("lawn", 4)),
]
PROPERTIES = [(1, 85), (2, 10), (4, 4), (12, 1)]  # a client has most often one
PLANTINGS = [(1, 12), (2, 24), (3, 28), (4, 18), (6, 12), (8, 6)]
YARD = (40.291, -74.869)
SPREAD = (0.09, 0.12)  # degrees, some six miles: of every three places two lie as near
PIECE = 500  # plantings written at once


@transaction.atomic
def make_places(wanted: Wanted, batch: int) -> None:
    """Put a batch of clients in the book, with all that is theirs."""
    chance = Random(f"{wanted.seed} places {batch}")  # noqa: S311 - no secret hangs on it
    clients = Client.objects.bulk_create(_client(n, chance) for n in wanted.clients_in(batch))
    places = [place for client in clients for place in _properties(client, chance)]
    rows = (bed for place in Property.objects.bulk_create(places) for bed in _beds(place, chance))
    while piece := list(islice(rows, PIECE)):
        Planting.objects.bulk_create(piece)


def picked(chance: Random, weighed: list[tuple[Any, int]]) -> Any:
    """Return one of some values, each as often as its weight tells."""
    return chance.choices([value for value, _ in weighed], [weight for _, weight in weighed])[0]


def _client(number: int, chance: Random) -> Client:
    surname = "".join(chance.choice(half) for half in SURNAMES)
    town, postal_code = chance.choice(TOWNS)
    return Client(
        name=f"{chance.choice(GIVEN)} {surname} (invented {number})",
        email=f"client{number}@example.org" if chance.random() < 0.8 else "",
        phone=f"555-01{number % 100:02}",
        street=f"{chance.randint(1, 199)} {chance.choice(STREETS)}",
        city=town,
        region="PA",
        postal_code=postal_code,
        language="es" if chance.random() < 0.1 else "en",
    )


def _properties(client: Client, chance: Random) -> Iterator[Property]:
    for number in range(1, picked(chance, PROPERTIES) + 1):
        town, postal_code = chance.choice(TOWNS)
        latitude, longitude = (
            Decimal(chance.gauss(centre, spread)).quantize(Decimal("0.000001"))
            for centre, spread in zip(YARD, SPREAD, strict=True)
        )
        yield Property(
            client=client,
            name=f"{chance.choice(GROUNDS)} {number}",
            street=f"{chance.randint(1, 199)} {chance.choice(STREETS)}",
            city=town,
            county="Bucks",
            postal_code=postal_code,
            jurisdiction="US-PA",
            latitude=latitude,
            longitude=longitude,
            children=chance.random() < 0.3,
            pets=chance.random() < 0.3,
            nearest_hospital="invented place: call 911",
        )


def _beds(place: Property, chance: Random) -> Iterator[Planting]:
    for number in range(1, picked(chance, PLANTINGS) + 1):
        kind = read("plants")[picked(chance, KINDS)]
        yield Planting(
            property=place,
            name=f"{kind['common_name'].capitalize()} {number}",
            plants=chance.randint(1, 40),
            length_ft=Decimal(chance.randint(6, 80)),
            width_ft=Decimal(chance.randint(2, 12)),
            height_ft=Decimal(chance.randint(1, 8)),
            **kind,
        )
