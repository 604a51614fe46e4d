"""What an export of the book holds, member by member; each is made when its turn comes."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from uuid import UUID, uuid5

from django.utils import translation
from django.utils.translation import gettext as _

from clients.models import Client, Planting, Property
from services.bringing import KINDS
from services.bringing.writing import lines_of
from services.field.photos import original_of
from services.models import BookExport, Estimate, FieldPhoto
from services.models.statements import StatementPaper
from services.packing import Wanted, members
from services.sheets.geojson import Feature, geojson_lines
from services.sheets.vcards import Card, vcards
from services.whole_book.tables import AT_A_TIME, csv_of, json_of, tables
from treatments.exporting import export_lines
from treatments.models import ApplicationRecord, KeptPaper
from treatments.papers import path_of

OF_CLIENTS = UUID("6f2b0f0c-6f5e-5d0b-9d6b-2f0f1c7a4b11")  # drawn once, for the names of cards
PACKED_ALREADY = (".pdf", ".jpg", ".png", ".webp", ".original")


@dataclass(frozen=True, slots=True)
class Member:
    """A file of the export: its name, and what yields its bytes."""

    name: str
    pieces: Callable[[], Iterable[bytes]]

    def is_packed(self) -> bool:
        """Say whether packing it once more would gain nothing."""
        return self.name.endswith(PACKED_ALREADY)


def contents(row: BookExport) -> Iterator[Member]:
    """Yield what is in an export, in the same order each time."""
    yield Member("README.txt", partial(_readme, row.language))
    for kind in KINDS.values():
        yield Member(f"to-bring/{kind.name}.csv", partial(_encoded, partial(lines_of, kind)))
    yield Member("clients.vcf", partial(_encoded, lambda: vcards(_cards())))
    yield Member("properties.geojson", partial(_encoded, lambda: geojson_lines(_places())))
    yield Member("plantings.geojson", partial(_encoded, lambda: geojson_lines(_plantings())))
    for name, rows, columns in tables():
        yield Member(f"tables/{name}.csv", partial(csv_of, rows, columns))
        yield Member(f"tables/{name}.json", partial(json_of, rows, columns))
    yield Member("journal.jsonl", partial(_encoded, export_lines))
    yield from _records(row)
    yield from _photos()
    for pk in StatementPaper.objects.order_by("pk").values_list("statement", flat=True):
        yield Member(f"statements/{pk}.pdf", partial(_statement, pk))
    written = Estimate.objects.exclude(paper=b"").order_by("pk")
    for pk in written.values_list("pk", flat=True):
        yield Member(f"estimates/{pk}.pdf", partial(_estimate, pk))
    for paper in KeptPaper.objects.order_by("pk").iterator(AT_A_TIME):
        path = path_of(paper)
        if path.exists():
            yield Member(f"papers/{paper.pk}-{paper.name}", partial(_bytes_of, path))


def _records(row: BookExport) -> Iterator[Member]:
    numbers = ApplicationRecord.objects.filter(number__lte=row.records).order_by("number")
    kept = numbers.filter(disposed__isnull=True).values_list("number", flat=True)
    wanted = Wanted(list(kept), row.language, row.asked_at, with_notes=True, by=row.asked_by)
    if wanted.numbers:
        for name, pieces in members(wanted):
            yield Member(f"records/{name}", partial(iter, pieces))


def _photos() -> Iterator[Member]:
    for photo in FieldPhoto.objects.order_by("pk").iterator(AT_A_TIME):
        path = original_of(photo)
        if path.exists():
            yield Member(f"photos/{photo.sha256}.original", partial(_bytes_of, path))


def _statement(pk: int) -> Iterator[bytes]:
    yield bytes(StatementPaper.objects.get(statement=pk).pdf)


def _estimate(pk: int) -> Iterator[bytes]:
    yield bytes(Estimate.objects.get(pk=pk).paper)


def _bytes_of(path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(1 << 20):
            yield piece


def _encoded(lines: Callable[[], Iterable[str]]) -> Iterator[bytes]:
    for line in lines():
        yield line.encode()


def _cards() -> Iterator[Card]:
    for client in Client.objects.order_by("pk").iterator(AT_A_TIME):
        yield Card(
            uid=f"urn:uuid:{uuid5(OF_CLIENTS, str(client.pk))}",
            name=client.name,
            email=client.email,
            phone=client.phone,
            street=client.street,
            city=client.city,
            region=client.region,
            postal_code=client.postal_code,
            language=client.language,
            note=client.note,
        )


def _places() -> Iterator[Feature]:
    for place in Property.objects.select_related("client").order_by("pk").iterator(AT_A_TIME):
        told = {"name": place.name, "client": place.client.name, "address": place.address()}
        told |= {"jurisdiction": place.jurisdiction, "minded": place.minded()}
        yield Feature(f"property-{place.pk}", place.longitude, place.latitude, told)


def _plantings() -> Iterator[Feature]:
    found = Planting.objects.select_related("property__client").order_by("pk")
    for each in found.iterator(AT_A_TIME):
        place = each.property
        told = {
            "name": each.name,
            "property": place.name,
            "client": place.client.name,
            "plant": each.common_name,
            "species": each.species,
            "eppo_code": each.eppo_code,
            "habit": each.habit,
            "plants": each.plants,
            "where": "point of the property",
        }
        yield Feature(f"planting-{each.pk}", place.longitude, place.latitude, told)


def _readme(language: str) -> Iterator[bytes]:
    with translation.override(language):
        parts = [
            _("All that this business keeps in its book, taken out by its owner."),
            _(
                "to-bring/    tables that an empty book takes in again, in the order of its page "
                "Bring your data\n"
                "tables/      every table as CSV and as JSON, as the book keeps it\n"
                "records/     the application records as paper and tables, with what proves them\n"
                "papers/      labels, safety data sheets and proofs that were kept as files\n"
                "statements/  the statements that clients were given\n"
                "estimates/   the estimates that were written for them\n"
                "photos/      photographs from the field, named by their SHA-256\n"
                "journal.jsonl       the journal, which manage.py verify --export checks\n"
                "clients.vcf         the clients as vCards (RFC 6350)\n"
                "properties.geojson, plantings.geojson    where they are (RFC 7946)\n"
                "manifest.json       each file with its size and SHA-256"
            ),
            _(
                "Records and journal are for reading and checking: no book takes them in as its "
                "own. The files name clients and people: keep them as the book itself."
            ),
        ]
    yield ("\n\n".join(parts) + "\n").encode()
