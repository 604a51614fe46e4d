"""Which business is wanted, and how far the one in the book has come."""

from dataclasses import dataclass
from datetime import date

from django.contrib.auth import get_user_model

from clients.models import Client
from treatments.models import ApplicationRecord, Business, JournalEntry, Product

CLIENTS_A_BATCH = 250
RECORDS_A_BATCH = 1_000


class NotGenerated(Exception):
    """The book holds something that was not generated, or another generated business."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A business to be made up: the same figures make the same one.

    today: the day it plays on; courses reach from some 22 months before to some weeks after
    """

    clients: int
    records: int
    seed: int
    today: date

    def name(self) -> str:
        """Return the name of the business, which says that it is made up and of what."""
        return (
            f"Made-up Grounds (invented: {self.clients} clients, {self.records} records, "
            f"seed {self.seed}, {self.today})"
        )

    def client_batches(self) -> range:
        """Return the batches of clients that the book lacks; raise NotGenerated for odd ones."""
        return _lacking(Client.objects.count(), self.clients, CLIENTS_A_BATCH, "clients")

    def record_batches(self) -> range:
        """Return the batches of records that the book lacks; raise NotGenerated for odd ones."""
        kept = ApplicationRecord.objects.count()
        return _lacking(kept, self.records, RECORDS_A_BATCH, "records")

    def clients_in(self, batch: int) -> range:
        """Return the numbers of the clients of a batch, from 1."""
        first = batch * CLIENTS_A_BATCH
        return range(first + 1, min(first + CLIENTS_A_BATCH, self.clients) + 1)

    def records_in(self, batch: int) -> int:
        """Return how many records a batch has."""
        return min(RECORDS_A_BATCH, self.records - batch * RECORDS_A_BATCH)

    def share_of(self, batch: int) -> tuple[float, float]:
        """Return between which shares of the whole a batch of records lies."""
        first = batch * RECORDS_A_BATCH
        return first / self.records, (first + self.records_in(batch)) / self.records


def _lacking(found: int, wanted: int, size: int, noun: str) -> range:
    if found > wanted or (found % size and found != wanted):
        raise NotGenerated(f"There are {found} {noun} in the book, which no batch ends with.")
    return range(-(-found // size), -(-wanted // size))


def is_begun(wanted: Wanted) -> bool:
    """Say whether the book holds the wanted business, whole or in part.

    Raise NotGenerated where it holds anything else.
    """
    business = Business.objects.first()
    if business is not None and business.invented and business.name == wanted.name():
        return True
    rows = [
        get_user_model().objects.all(),
        Client.objects.all(),
        Product.objects.all(),
        JournalEntry.objects.all(),
    ]
    if business is not None or any(found.exists() for found in rows):
        whose = business.name if business else "somebody"
        raise NotGenerated(
            f"This book belongs to {whose}. A business is made up in an empty book only: set "
            "DUSKBOOK_DATA to a new folder, or DATABASE_URL to an empty database. One that was "
            "left half made goes on with the same figures, --today as well."
        )
    return False
