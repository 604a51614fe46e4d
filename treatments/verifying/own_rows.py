"""Holds signatures, copies, returns, corrections and certificates against their entries."""

from collections.abc import Callable, Sequence
from typing import Any

from django.db.models import QuerySet

from treatments.correcting import ANSWERED, ASKED, answered_columns, asked_columns
from treatments.journaling import (
    certificate_columns,
    copy_columns,
    return_columns,
    signature_columns,
)
from treatments.models import (
    Certificate,
    CopyGiven,
    Correction,
    CorrectionAnswer,
    RecordSigned,
    ReturnFiled,
)
from treatments.rules.journal import (
    CERTIFICATE,
    COPY,
    CORRECTION_ANSWERED,
    CORRECTION_ASKED,
    RETURN,
    SIGNATURE,
)
from treatments.verifying.kept_tables import Columns, KeptTable, LastToldTable


def own_tables() -> list[KeptTable]:
    """Return the tables of what is kept beside records, each with the entries that repeat it.

    All rows had an entry from the first on but certificates, which are older than the journal.
    """
    signed = RecordSigned.objects.select_related("record")
    copies = CopyGiven.objects.select_related("record")
    asked = Correction.objects.select_related("record")
    answered = CorrectionAnswer.objects.select_related("kept")
    return [
        _table(SIGNATURE, "record", signed, "record__number", signature_columns),
        _table(COPY, "copy", copies, "pk", copy_columns),
        _table(RETURN, "return", ReturnFiled.objects.all(), "pk", return_columns),
        _table(CORRECTION_ASKED, "correction", asked, "pk", asked_columns, ASKED),
        _table(
            CORRECTION_ANSWERED, "correction", answered, "correction_id", answered_columns, ANSWERED
        ),
        LastToldTable(
            CERTIFICATE,
            "certificate",
            noun=CERTIFICATE,
            rows_of=_told_by("pk", Certificate.objects.all(), certificate_columns),
            ids=lambda lowest: (),
        ),
    ]


def _table(
    kind: str,
    key: str,
    rows: QuerySet[Any],
    number: str,
    told: Callable[[Any], Columns],
    noun: str = "",
) -> KeptTable:
    last = rows.order_by(f"-{number}").values_list(number, flat=True).first() or 0
    upto = rows.filter(**{f"{number}__lte": last}).order_by(number)
    return KeptTable(
        kind,
        key,
        noun=noun or kind,
        rows_of=_told_by(number, rows, told),
        ids=lambda lowest: upto.values_list(number, flat=True).iterator(),
    )


def _told_by(
    number: str, rows: QuerySet[Any], told: Callable[[Any], Columns]
) -> Callable[[Sequence[int]], dict[int, Columns]]:
    """Return what tells the columns of the rows with some numbers."""

    def rows_of(numbers: Sequence[int]) -> dict[int, Columns]:
        found = rows.filter(**{f"{number}__in": numbers})
        return {_value(row, number): told(row) for row in found}

    return rows_of


def _value(row: Any, path: str) -> int:
    for name in path.split("__"):
        row = getattr(row, name)
    return int(row)
