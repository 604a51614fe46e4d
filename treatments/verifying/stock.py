"""Holds the store's ledger against the journal: lines of no record, and those that records drew."""

from collections.abc import Iterator

from django.db import connection

from treatments.journaling import stock_columns
from treatments.models import ApplicationRecord, StockEntry
from treatments.rules.journal import STOCK
from treatments.rules.journal_walk import Fault
from treatments.verifying.kept_tables import KeptTable

MOST_TOLD = 1_000


def stock_table() -> KeptTable:
    """Return the lines of the ledger that no record tells of, from the first that has an entry."""
    own = StockEntry.objects.filter(record__isnull=True)
    last = own.order_by("-pk").values_list("pk", flat=True).first() or 0
    return KeptTable(
        STOCK,
        "stock_entry",
        noun=STOCK,
        rows_of=lambda ids: {row.pk: stock_columns(row) for row in own.filter(pk__in=ids)},
        ids=lambda lowest: (
            own.filter(pk__lte=last, pk__gte=last + 1 if lowest is None else lowest)
            .order_by("pk")
            .values_list("pk", flat=True)
            .iterator()
        ),
    )


def faults_of_drawn_stock(last: int) -> Iterator[Fault]:
    """Tell of lines of records that do not follow from their record, and of those that lack.

    A record takes its amount from its lot, and gives back first what the one it amends had taken.
    last: the number of the last record that is looked at
    """
    with connection.cursor() as cursor:
        cursor.execute(_sql(), [last, last])
        found = cursor.fetchmany(MOST_TOLD)
    for (number,) in found:
        yield Fault("the ledger does not say what the record drew", record=number)


def _sql() -> str:
    """Return the SQL that compares what records draw of each lot with the ledger's lines.

    It adds up only those of which one line does not plainly say all there is to say.
    """
    record, stock = ApplicationRecord._meta.db_table, StockEntry._meta.db_table
    no, yes = ("0", "1") if connection.vendor == "sqlite" else ("false", "true")
    return f"""
        WITH odd AS MATERIALIZED (
            SELECT r.number AS number
            FROM {record} r LEFT JOIN {stock} s ON s.record_id = r.id AND s.kind = 'applied'
            WHERE r.number <= %s AND CASE
                WHEN r.amends_id IS NOT NULL THEN {yes}
                WHEN s.id IS NULL AND (r.lot_id IS NULL OR r.void) THEN {no}
                WHEN NOT r.void AND s.lot_id = r.lot_id AND s.amount + r.product_amount
                        BETWEEN -0.0005 AND 0.0005
                    AND s.happened_at = r.done_at AND s.entered_at = r.received_at THEN {no}
                ELSE {yes} END
            UNION
            SELECT r.number
            FROM {stock} s JOIN {record} r ON r.id = s.record_id
            WHERE s.kind = 'applied' AND r.number <= %s
            GROUP BY r.number HAVING count(*) > 1
        )
        SELECT number FROM (
            SELECT r.number AS number, r.lot_id AS lot, -r.product_amount AS amount,
                r.done_at AS happened, r.received_at AS entered, 0 AS lines
            FROM odd JOIN {record} r ON r.number = odd.number
            WHERE r.lot_id IS NOT NULL AND NOT r.void
            UNION ALL
            SELECT r.number, w.lot_id, w.product_amount, r.done_at, r.received_at, 0
            FROM odd JOIN {record} r ON r.number = odd.number JOIN {record} w ON w.id = r.amends_id
            WHERE w.lot_id IS NOT NULL
            UNION ALL
            SELECT r.number, s.lot_id, -s.amount, s.happened_at, s.entered_at, 1
            FROM odd JOIN {record} r ON r.number = odd.number JOIN {stock} s ON s.record_id = r.id
            WHERE s.kind = 'applied'
        ) drawn
        GROUP BY number, lot
        HAVING abs(sum(amount)) > 0.0005 OR sum(lines) > 1
            OR min(happened) <> max(happened) OR min(entered) <> max(entered)
        ORDER BY number
    """  # noqa: S608
