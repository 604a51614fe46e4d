"""What is to go out, with the person it goes to and the visit it speaks of."""

from collections.abc import Iterable
from dataclasses import dataclass

from clients.models import Client, Neighbour
from services.models import Outbox, Visit


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A row of the outbox with what a person wants to know of it."""

    row: Outbox
    visit: Visit | None
    reader: str


def waiting_and_failed() -> tuple[list[Outgoing], list[Outgoing]]:
    """Return what failed, newest first, and what waits, in order of its time."""
    failed = Outbox.objects.filter(failed_at__isnull=False).order_by("-failed_at", "-pk")
    waiting = Outbox.objects.filter(done_at__isnull=True, failed_at__isnull=True)
    shown = with_reasons([*failed, *waiting])
    split = [each for each in shown if each.row.failed_at]
    return split, [each for each in shown if not each.row.failed_at]


def with_reasons(rows: Iterable[Outbox]) -> list[Outgoing]:
    """Return rows with their visits and readers, in three queries."""
    rows = list(rows)
    places = Visit.objects.select_related("course__property__client")
    visits = places.in_bulk(_named("visit", rows))
    clients = Client.objects.in_bulk(_named("client", rows))
    neighbours = Neighbour.objects.in_bulk(_named("neighbour", rows))
    return [_outgoing(row, visits, clients, neighbours) for row in rows]


def _named(what: str, rows: Iterable[Outbox]) -> set[int]:
    return {row.arguments[what] for row in rows if row.arguments.get(what)}


def _outgoing(row: Outbox, visits, clients, neighbours) -> Outgoing:
    visit = visits.get(row.arguments.get("visit"))
    reader = (
        neighbours.get(row.arguments.get("neighbour"))
        or clients.get(row.arguments.get("client"))
        or (visit.course.property.client if visit and _is_summary(row) else None)
    )
    return Outgoing(row, visit, str(reader or ""))


def _is_summary(row: Outbox) -> bool:
    return row.kind == Outbox.Kind.CLIENT_SUMMARY
