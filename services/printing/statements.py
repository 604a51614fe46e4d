"""Statements as paper and as a table for the accountant, from what was frozen."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal

from django.utils import translation
from django.utils.translation import gettext as _

from services.models import Statement
from services.printing.imprints import imprint_for
from services.sheets.spreadsheet import csv_lines
from services.sheets.statement import (
    ChargedLine,
    PaidLine,
    StatementSheet,
    TaxLine,
    draw_statement,
)


def statement_pdf(statement: Statement, language: str | None = None) -> bytes:
    """Return a statement as a PDF, in its client's language; its data alone gives its bytes."""
    with translation.override(language or statement.language):
        return draw_statement(_sheet(statement, language or statement.language))


def _sheet(statement: Statement, language: str) -> StatementSheet:
    zone = _zone_of(statement)
    imprint = imprint_for(language, statement.given_at, zone)
    return StatementSheet(
        imprint=imprint,
        number=statement.number,
        client=statement.client_name,
        address=statement.client_address,
        given_on=imprint.local(statement.given_at).date(),
        first_day=statement.first_day,
        last_day=statement.last_day,
        lines=tuple(
            ChargedLine(line.day, line.words, line.priced, line.amount)
            for line in statement.lines.all()
        ),
        taxes=tuple(
            TaxLine(
                tax["name"],
                tax["place"],
                Decimal(tax["percent"]),
                Decimal(tax["base"]),
                Decimal(tax["amount"]),
            )
            for tax in statement.taxes
        ),
        payments=tuple(
            PaidLine(each.day, each.get_way_display(), each.amount)
            for each in statement.payments.all()
        ),
        lines_total=statement.lines_total,
        total=statement.total,
        carried=statement.carried,
        balance=statement.balance,
    )


def _zone_of(statement: Statement) -> str:
    """Return the zone of the client's first property, by which the paper tells its day."""
    place = statement.client.properties.order_by("pk").first()
    return place.time_zone if place else "UTC"


def statements_csv(statements: Iterable[Statement]) -> Iterator[str]:
    """Yield the lines of a table for the accountant: a row a charge, a tax and a payment."""
    heads = [
        _("Statement"),
        _("Given out"),
        _("Client"),
        _("Kind"),
        _("Day"),
        _("What"),
        _("Price"),
        _("Of"),
        _("Place"),
        _("Amount (USD)"),
    ]
    return csv_lines(heads, (row for each in statements for row in _rows(each)))


def _rows(statement: Statement) -> Iterator[list[object]]:
    given = statement.given_at.date()
    first = [statement.number, given.isoformat(), statement.client_name]
    for line in statement.lines.all():
        kind = _("visit") if line.visit_id else _("correction")
        place = ", ".join(filter(None, [line.county, line.jurisdiction]))
        told = [line.words, line.priced, line.get_kind_display(), place]
        yield [*first, kind, line.day.isoformat(), *told, line.amount]
    for tax in statement.taxes:
        told = [tax["name"], f"{tax['percent']}%", "", tax["place"]]
        yield [*first, _("tax"), _iso(statement.last_day), *told, Decimal(tax["amount"])]
    for paid in statement.payments.all():
        told = [paid.note, paid.get_way_display(), "", ""]
        yield [*first, _("payment"), _iso(paid.day), *told, -paid.amount]


def _iso(day: date) -> str:
    return day.isoformat()
