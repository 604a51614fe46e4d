"""Rows for a spreadsheet, as RFC 4180 has them: CSV in UTF-8 that no program takes for a formula.

A cell of text that begins like a formula gets an apostrophe [CWE-1236]; numbers stay numbers.
"""

import csv
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from io import StringIO

BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\0")
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"  # by which a spreadsheet knows UTF-8


def csv_lines(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the lines of a CSV file, its heads first.

    >>> list(csv_lines(["a", "b"], [["=1+1", Decimal("-0.5")]]))[1]
    "'=1+1,-0.5\\r\\n"
    """
    yield MARK + _line(heads)
    for row in rows:
        yield _line(row)


def _line(cells: Sequence[object]) -> str:
    out = StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([_safe(cell) for cell in cells])
    return out.getvalue()


def _safe(cell: object) -> object:
    if cell is None:
        return ""
    if isinstance(cell, int | Decimal):
        return f"{cell:f}" if isinstance(cell, Decimal) else cell
    text = str(cell).replace("\0", "\N{REPLACEMENT CHARACTER}")
    return f"'{text}" if str(cell).startswith(BEGINS_A_FORMULA) else text
