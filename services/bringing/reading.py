"""Reads a table from a file that somebody sent: CSV [RFC4180] or a workbook, bounded in all ways.

What is told of a file is told by row and column, as a spreadsheet numbers and letters them.
"""

import codecs
import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import islice

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from services.bringing.refused import Refused
from services.bringing.workbooks import is_workbook, rows_of_workbook
from services.sheets.spreadsheet import BEGINS_A_FORMULA

MOST_BYTES = 10 * 1024 * 1024
MOST_ROWS = 20_000
MOST_COLUMNS = 100
LONGEST_CELL = 5_000  # signs; the longest text of the book has 4,000
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
ENCODINGS = ("utf-8", "windows-1252", "utf-16")
PASSED_OVER = "# "  # begins a line that explains, not one that brings something


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it was read: heads, and rows of cells with the number a spreadsheet gives them.

    encoding, separator: as they were told apart or asked for; both "" for a workbook
    """

    heads: list[str]
    rows: list[tuple[int, list[str]]]
    encoding: str = ""
    separator: str = ""


def read_sheet(
    content: bytes, *, known: Iterable[str], encoding: str = "", separator: str = ""
) -> Sheet:
    """Return the table in a file; raise ValidationError where nobody can tell what it is.

    known: heads that are looked for, by which the separator is told where it is not given
    encoding, separator: a name of ENCODINGS and of SEPARATORS, "" to have them told apart
    """
    if not content.strip():
        raise ValidationError(_("The file is empty."), code="empty")
    if len(content) > MOST_BYTES:
        raise ValidationError(_("The file is larger than 10 MB: send it in parts."), code="large")
    if is_workbook(content):
        return _sheet(rows_of_workbook(content))
    encoding = encoding or encoding_of(content)
    text = _decoded(content, encoding)
    mark = SEPARATORS.get(separator) or separator_of(text, known)
    name = next(name for name, each in SEPARATORS.items() if each == mark)
    return _sheet(_csv_rows(text, mark), encoding, name)


def encoding_of(content: bytes) -> str:
    """Return in which of the encodings a text is written, as far as its bytes tell.

    >>> encoding_of("Peña".encode()), encoding_of("Peña".encode("windows-1252"))
    ('utf-8', 'windows-1252')
    """
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "windows-1252"
    return "utf-8"


def separator_of(text: str, known: Iterable[str]) -> str:
    """Return the sign between cells: the one that yields the most heads that are known."""
    names = {plain_head(name) for name in known}
    first = re.split(r"[\r\n]", text, maxsplit=1)[0]

    def heads_found(mark: str) -> int:
        cells = next(csv.reader([first], delimiter=mark), [])
        return len({plain_head(cell) for cell in cells} & names)

    best = max(SEPARATORS.values(), key=heads_found)
    if not heads_found(best):
        raise ValidationError(
            _(
                "No column of the first line is known here. Take the heads from the file to fill "
                "in, or say by which sign the columns are separated."
            ),
            code="no_heads",
        )
    return best


def plain_head(head: str) -> str:
    """Return a head as it is compared: small letters, digits and single spaces.

    >>> plain_head(" Length (ft) "), plain_head("length_ft")
    ('length ft', 'length ft')
    """
    return " ".join("".join(c if c.isalnum() else " " for c in head.casefold()).split())


def unescaped(text: str) -> str:
    """Return a cell without the apostrophe that keeps it from being taken for a formula.

    >>> unescaped("'=1+1"), unescaped("'tis")
    ('=1+1', "'tis")
    """
    is_escaped = text.startswith("'") and text[1:2] in BEGINS_A_FORMULA and len(text) > 1
    return text[1:] if is_escaped else text


def _decoded(content: bytes, encoding: str) -> str:
    names = {"utf-8": "utf-8-sig", "windows-1252": "windows-1252", "utf-16": "utf-16"}
    try:
        return content.decode(names[encoding])
    except UnicodeDecodeError as error:
        raise ValidationError(
            _("The file is not %(encoding)s text: byte %(place)s stands for no sign of it."),
            params={"encoding": encoding, "place": error.start + 1},
            code="encoding",
        ) from error


def _csv_rows(text: str, mark: str) -> Iterator[list[str]]:
    # StringIO would turn the ends of lines within quotes into others.
    reader = csv.reader(StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        for cells in reader:
            yield [_csv_cell(cell) for cell in cells]
    except csv.Error as error:
        raise ValidationError(
            _("Line %(line)s is not CSV: a quote is open or stands in the wrong place."),
            params={"line": reader.line_num},
            code="not_csv",
        ) from error


def _csv_cell(cell: str) -> str:
    if cell.lstrip().startswith("="):
        return Refused(_("It begins with “=”, as a formula does: write its value."))
    return unescaped(cell)


def _sheet(lines: Iterator[list[str]], encoding: str = "", separator: str = "") -> Sheet:
    """Return a table from its lines; what explains it before the first row is passed over."""
    found = islice(enumerate(lines, 1), 2 * MOST_ROWS)
    first = next(((n, line) for n, line in found if not _explains(line)), None)
    if first is None:
        raise ValidationError(_("The file holds no line."), code="empty")
    heads = [cell.strip() for cell in first[1]]
    while heads and not heads[-1]:
        heads.pop()
    if len(heads) > MOST_COLUMNS:
        raise ValidationError(_("The file has more than 100 columns."), code="wide")
    rows: list[tuple[int, list[str]]] = []
    for number, line in found:
        if _explains(line) if not rows else _is_nothing(line):
            continue
        if len(rows) == MOST_ROWS:
            raise ValidationError(
                _("The file has more than 20,000 rows: send it in parts."), code="long"
            )
        rows.append((number, [_within(cell) for cell in line]))
    return Sheet(heads, rows, encoding, separator)


def _explains(line: Sequence[str]) -> bool:
    return _is_nothing(line) or line[0].startswith(PASSED_OVER)


def _is_nothing(line: Sequence[str]) -> bool:
    return not any(cell.strip() for cell in line)


def _within(cell: str) -> str:
    if isinstance(cell, Refused):
        return cell
    if "\0" in cell:
        return Refused(_("It holds a sign that is no text."))
    if len(cell) > LONGEST_CELL:
        return Refused(_("It is longer than 5,000 signs."))
    return cell.strip()
