"""Files to fill in, as CSV and as a workbook: heads, and a line that explains each column.

The line begins with “# ” and is passed over when the file is brought.
"""

from collections.abc import Iterator
from io import BytesIO

from services.bringing.columns import Kind
from services.sheets.spreadsheet import csv_lines

WIDTH = 24  # of a column, in signs


def blank_csv(kind: Kind) -> Iterator[str]:
    """Yield the lines of a CSV file to fill in."""
    yield from csv_lines(heads_of(kind), [explanations_of(kind)])


def blank_workbook(kind: Kind) -> bytes:
    """Return a workbook to fill in; its cells are text, so that no zero and no day is changed."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    sheet = book.active
    if sheet is None:  # a new workbook has one; the library's types allow for none
        raise RuntimeError("A new workbook has no sheet.")
    sheet.title = str(kind.noun)[:31]
    sheet.append(heads_of(kind))
    sheet.append(explanations_of(kind))
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for cell in sheet[2]:
        cell.font = Font(italic=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    for place in range(1, len(heads_of(kind)) + 1):
        letter = get_column_letter(place)
        sheet.column_dimensions[letter].width = WIDTH
        sheet.column_dimensions[letter].number_format = "@"
    sheet.freeze_panes = "A3"
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def heads_of(kind: Kind) -> list[str]:
    """Return the heads of a kind's file."""
    return [each.column_name for each in kind.columns()]


def explanations_of(kind: Kind) -> list[str]:
    """Return a line that explains each column, the first marked to be passed over."""
    told = [each.explained() for each in kind.columns()]
    return [f"# {told[0]}", *told[1:]]
