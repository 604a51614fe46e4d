"""Checks the whole book: the journal and every table that it repeats."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet

from services.journaling import LIFTED, told_hold, told_lift, told_notice
from services.models import Hold, Outbox
from treatments.models import JournalEntry
from treatments.rules import journal
from treatments.rules.canonical import NotCanonical, parse
from treatments.verifying import KeptTable, Verdict, verify_book


def verify(outside: Sequence[str] = ()) -> Verdict:
    """Check the journal of this book, and the tables of records, stock, holds and notices.

    outside: texts of checkpoints that others kept
    """
    return verify_book(outside, tables_of_schedule())


def tables_of_schedule() -> list[KeptTable]:
    """Return holds, lifted holds and notices, each with the entries that repeat it.

    Rows older than the journal have no entry: nobody wrote one then.
    """
    began = _began()
    sent = Outbox.objects.filter(kind=Outbox.Kind.NOTICE, done_at__isnull=False)
    return [
        _table(journal.HOLD, "hold", journal.HOLD, Hold.objects.all(), told_hold, "set_at", began),
        _table(
            journal.HOLD_LIFTED,
            "hold",
            LIFTED,
            Hold.objects.filter(lifted_at__isnull=False),
            told_lift,
            "lifted_at",
            began,
        ),
        _table(journal.NOTICE, "outbox", journal.NOTICE, sent, told_notice, "done_at", began),
    ]


def _began() -> str:
    """Return when the journal began, as its first envelope says; "" where it has not."""
    envelope = JournalEntry.objects.order_by("seq").values_list("envelope", flat=True).first()
    try:
        return str(parse(envelope)["recorded_at"]) if envelope else ""
    except (NotCanonical, KeyError, TypeError):
        return ""


def _table(
    kind: str, key: str, noun: str, rows: QuerySet[Any], told: Any, when: str, began: str
) -> KeptTable:
    last = rows.order_by("-pk").values_list("pk", flat=True).first() or 0
    since = Q(**{f"{when}__gte": began}) if began else Q()
    return KeptTable(
        kind,
        key,
        noun=noun,
        rows_of=lambda ids: {row.pk: told(row) for row in rows.filter(pk__in=ids)},
        ids=lambda lowest: (
            rows.filter(since if lowest is None else since | Q(pk__gte=lowest), pk__lte=last)
            .order_by("pk")
            .values_list("pk", flat=True)
            .iterator()
        ),
    )
