"""Gives a statement out: frozen with its lines, numbered without a gap, its paper's hash told."""

from datetime import date, datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.db.models import Max
from django.utils.translation import gettext_lazy as _

from clients.models import Client
from services.journaling import hashed, journal_package
from services.models import Statement, StatementLine, StatementPaper
from services.printing.statements import statement_pdf
from services.statements.drafting import Draft, draft_for

STATEMENTS_LOCK = 1_146_442_604  # any number will do that every worker shares


@transaction.atomic
def give_out(
    client: Client,
    *,
    first_day: date,
    last_day: date,
    by: User | None,
    at: datetime,
    form_id: UUID,
) -> Statement:
    """Give out a client's statement for a period; the same form gives the same one.

    Raise ValidationError where there is nothing to say: no line, no payment since the last one.
    """
    lock_statements()
    known = Statement.objects.filter(form_id=form_id).first()
    if known is not None:
        return known
    draft = draft_for(client, first_day, last_day)
    if not draft.lines and not draft.payments:
        raise ValidationError(
            _("There is nothing to charge in this period that is on no statement yet."),
            code="nothing_to_charge",
        )
    statement = _kept(draft, by, at, form_id)
    paper = statement_pdf(statement)
    told = hashed(f"statement-{statement.number}.pdf", paper)
    StatementPaper(statement=statement, pdf=paper, sha256=str(told["sha256"])).save()
    journal_package([told], by, at)
    return statement


def _kept(draft: Draft, by: User | None, at: datetime, form_id: UUID) -> Statement:
    client = draft.client
    statement = Statement(
        number=(Statement.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
        client=client,
        client_name=client.name,
        client_address=client.postal_address(),
        language=client.language,
        first_day=draft.first_day,
        last_day=draft.last_day,
        given_at=at,
        given_by=by,
        lines_total=draft.lines_total,
        taxes=draft.taxes_told(),
        tax_total=draft.tax_total,
        total=draft.total,
        carried=draft.carried,
        paid=draft.paid,
        balance=draft.balance,
        form_id=form_id,
    )
    statement.full_clean()
    statement.save()
    for place, line in enumerate(draft.lines, 1):
        row = StatementLine(
            statement=statement,
            place_in_order=place,
            visit=line.visit,
            correction=line.correction,
            rule_id=line.rule,
            day=line.day,
            words=line.words,
            priced=line.priced[:300],
            kind=line.kind.value,
            jurisdiction=line.place.jurisdiction,
            county=line.place.county,
            amount=line.amount,
        )
        row.full_clean()
        row.save()
    statement.payments.set(draft.payments)
    return statement


def lock_statements() -> None:
    """Let nobody else give out a statement before this transaction ends: none charges twice.

    SQLite has locked the whole database when the transaction began.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [STATEMENTS_LOCK])
