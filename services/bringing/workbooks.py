"""Reads the first sheet of a workbook (XLSX), which may be made to do harm.

A workbook is a ZIP of XML.  How much it may unpack to is bounded before anything is unpacked, XML
that grows by entities is refused (defusedxml stands behind openpyxl), rows and columns are bounded
whatever the sheet says of itself, and a formula is never taken for its value.  openpyxl is large,
and loaded when a workbook is read.
"""

import lzma
import struct
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO
from typing import Any

from defusedxml import DefusedXmlException
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from services.bringing.refused import Refused

MOST_UNPACKED = 64 * 1024 * 1024  # bytes of all parts together; our own choice
MOST_PARTS = 500
READ_ROWS, READ_COLUMNS = 40_001, 101  # one more than is taken, so that more is seen
SIGNATURE = b"PK\x03\x04"
NOT_A_WORKBOOK = (
    zipfile.BadZipFile, DefusedXmlException, SyntaxError, KeyError,
    ValueError, TypeError, AttributeError, IndexError, EOFError, OSError, zipfile.LargeZipFile,
    NotImplementedError, RuntimeError, ArithmeticError, zlib.error, lzma.LZMAError, struct.error,
)  # fmt: skip


def is_workbook(content: bytes) -> bool:
    """Say whether a file is a ZIP, as each workbook is."""
    return content.startswith(SIGNATURE)


def rows_of_workbook(content: bytes) -> Iterator[list[str]]:
    """Yield the rows of the first sheet as texts; raise ValidationError where it is not readable.

    Days are told as ISO 8601, numbers with a point and at most fifteen digits, as the workbook
    holds them; what is no value is `Refused`.
    """
    from openpyxl import DEFUSEDXML, load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    if not DEFUSEDXML:  # the guard of openpyxl that this module leans on
        raise RuntimeError("openpyxl does not use defusedxml.")
    refuse_bombs(content)
    try:
        book = load_workbook(BytesIO(content), read_only=True, keep_links=False)
        sheet = book.worksheets[0]
        rows = sheet.iter_rows(max_row=READ_ROWS, max_col=READ_COLUMNS)
        for row in rows:
            yield _trimmed([_text_of(cell) for cell in row])
        book.close()
    except (*NOT_A_WORKBOOK, InvalidFileException) as error:
        raise ValidationError(
            _("The file is not a workbook that can be read: save it as XLSX or CSV again."),
            code="not_a_workbook",
        ) from error


def refuse_bombs(content: bytes) -> None:
    """Refuse a ZIP that would unpack to far more than a table needs.

    No part is ever read beyond the size that the ZIP's own list tells of it.
    """
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
        raise ValidationError(_("The file is damaged."), code="not_a_workbook") from error
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
        raise ValidationError(
            _("The workbook unpacks to more than 64 MB: send it in parts, or as CSV."),
            code="bomb",
        )


def _text_of(cell: Any) -> str:
    value, kind = cell.value, getattr(cell, "data_type", "n")
    if kind == "f":
        return Refused(_("It is a formula: put its value in its place."))
    if kind == "e":
        return Refused(_("It holds an error, %(value)s.") % {"value": value})
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float):
        return f"{Decimal(f'{value:.15g}').normalize():f}"
    return str(value)


def _trimmed(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells
