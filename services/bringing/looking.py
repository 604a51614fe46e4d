"""Looks at a file without writing anything: what each row is, and what stands against it."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from services.bringing.columns import Column, Kind, column_of_error
from services.bringing.reading import Sheet, plain_head, read_sheet

MOST_FAULTS, MOST_HINTS = 2_000, 500  # that are told one by one; the rest is counted
AT_A_TIME = 250  # rows between two looks at how far it is
MOST_WORDS = 8  # with signs beyond ASCII that are shown, so that a wrong encoding is seen


@dataclass
class Found:
    """What a look at a file found.

    things: what it would bring, in order; known: rows that the book has already
    faults, hints: row, letter and head of the column, and the sentence; "" where it is the row
    """

    sheet: Sheet | None = None
    things: list[Any] = field(default_factory=list)
    known: int = 0
    unread: list[str] = field(default_factory=list)
    faults: list[tuple[int, str, str, str]] = field(default_factory=list)
    hints: list[tuple[int, str, str, str]] = field(default_factory=list)

    def told(self) -> dict[str, Any]:
        """Return it as the row of the file keeps it."""
        sheet = self.sheet or Sheet([], [])
        return {
            "rows": len(sheet.rows),
            "new": len(self.things),
            "known": self.known,
            "unread": self.unread,
            "encoding": sheet.encoding,
            "separator": sheet.separator,
            "words": _strange_words(sheet),
            "faults": self.faults[:MOST_FAULTS],
            "faults_in_all": len(self.faults),
            "hints": self.hints[:MOST_HINTS],
            "hints_in_all": len(self.hints),
        }


class Look:
    """One look at one file, row by row."""

    def __init__(self, kind: Kind, content: bytes, encoding: str = "", separator: str = ""):
        self.kind, self.content = kind, content
        self.encoding, self.separator = encoding, separator
        self.found = Found()
        self.letters: dict[str, str] = {}
        self.seen: dict[tuple, tuple[int, Any]] = {}

    def taken(self, tell: Callable[[int, int], None] = lambda done, of: None) -> Found:
        """Return what is found in the file; tell says now and then how far it is."""
        sheet = self._sheet()
        if sheet is None:
            return self.found
        heads = self._heads(sheet)
        if len(sheet.rows) > self.kind.most_rows:
            said = _("Of %(noun)s a file may bring %(most)s rows at most: send it in parts.")
            told = {"noun": self.kind.noun, "most": f"{self.kind.most_rows:,}"}
            self.found.faults.append((0, "", "", said % told))
        if self.found.faults:
            return self.found
        for done, (number, cells) in enumerate(sheet.rows):
            if done % AT_A_TIME == 0:
                tell(done, len(sheet.rows))
            self._look_at(number, cells, heads)
        return self.found

    def _sheet(self) -> Sheet | None:
        known = [head for each in self.kind.columns() for head in each.heads()]
        asked = {"encoding": self.encoding, "separator": self.separator}
        try:
            self.found.sheet = read_sheet(self.content, known=known, **asked)
        except ValidationError as wrong:
            self.found.faults = [(0, "", "", said) for said in wrong.messages]
        return self.found.sheet

    def _heads(self, sheet: Sheet) -> list[str]:
        """Return the head in our words for each column, "" for one that is not read."""
        ours = {head: each for each in self.kind.columns() for head in each.heads()}
        ours |= {plain_head(each.column_name): each for each in self.kind.columns()}
        heads: list[str] = []
        for place, written in enumerate(sheet.heads, 1):
            column = ours.get(plain_head(written))
            letter = letter_of(place)
            if column is None:
                heads.append("")
                if written:
                    self.found.unread.append(f"{letter}: {written}")
                continue
            if column.column_name in heads:
                said = _("The column stands there twice.")
                self.found.faults.append((1, letter, written, said))
            heads.append(column.column_name)
            self.letters[column.column_name] = letter
        for each in self.kind.columns():
            if each.is_needed and each.column_name not in heads:
                said = _("The column is missing.")
                self.found.faults.append((1, "", each.column_name, said))
        return heads

    def _look_at(self, number: int, cells: list[str], heads: list[str]) -> None:
        if any(cells[len(heads) :]):
            letter = letter_of(len(heads) + 1)
            self.found.faults.append((number, letter, "", _("The row is longer than the heads.")))
            return
        if self.found.sheet and self.found.sheet.separator and len(cells) < len(heads):
            said = _("The row has %(cells)s cells, the heads are %(heads)s.")
            told = {"cells": len(cells), "heads": len(heads)}
            self.found.faults.append((number, "", "", said % told))
            return
        row = {head: cell for head, cell in zip(heads, cells, strict=False) if head}
        row |= {head: "" for head in heads[len(cells) :] if head}
        self.kind.hints = []
        result = self.kind.import_row(
            row,
            None,
            dry_run=True,
            using_transactions=False,
            row_number=number,
            retain_instance_in_row_result=True,
        )
        if result.errors:
            raise result.errors[0].error
        if result.validation_error is not None:
            self.found.faults += self._faults(number, result.validation_error)
            return
        self._take(number, result.instance)

    def _take(self, number: int, thing: Any) -> None:
        """Take a good row, unless the book or the file has it already."""
        key, column = self.kind.key_of(thing), self.kind.key_column()
        if key in self.kind.in_book:
            self.found.known += 1
            said = _("It is in the book already, which stays as it is.")
            differing = self._differing(thing, self.kind.in_book[key])
            if differing:
                said = _("It is in the book already, and stays as it is there. Told otherwise: ")
                said += ", ".join(differing)
            self.found.hints.append((number, self.letters.get(column, ""), column, said))
            return
        if key in self.seen:
            self._twice(number, thing, *self.seen[key])
            return
        self.seen[key] = number, thing
        self.found.things.append(thing)
        for head, said in self.kind.hints:
            self.found.hints.append((number, self.letters.get(head, ""), head, said))

    def _twice(self, number: int, thing: Any, first: int, other: Any) -> None:
        column = self.kind.key_column()
        place = (number, self.letters.get(column, ""), column)
        differing = self._differing(thing, other)
        if not differing:
            self.found.known += 1
            said = _("Row %(first)s says the same: it is brought once.") % {"first": first}
            self.found.hints.append((*place, said))
            return
        said = _("Row %(first)s brings the same with other words. Told otherwise: %(columns)s")
        told = {"first": first, "columns": ", ".join(differing)}
        self.found.faults.append((*place, said % told))

    def _differing(self, thing: Any, other: Any) -> list[str]:
        """Return the columns of the file in which two things differ."""
        ours, theirs = self.kind.values_of(thing), self.kind.values_of(other)
        return [head for head in self.letters if ours[head] != theirs[head]]

    def _faults(self, number: int, wrong: ValidationError) -> Iterator[tuple[int, str, str, str]]:
        errors: Mapping[str, list[ValidationError]] = wrong.error_dict
        for attribute, each in errors.items():
            column: Column | None = column_of_error(self.kind, attribute)
            head = column.column_name if column else ""
            for said in ValidationError(each).messages:
                yield number, self.letters.get(head, ""), head, said


def _strange_words(sheet: Sheet) -> list[str]:
    """Return words with signs beyond ASCII as they were read."""
    words: dict[str, None] = {}
    for _number, cells in sheet.rows:
        for cell in cells:
            if not cell.isascii():
                words |= dict.fromkeys(word for word in cell.split() if not word.isascii())
                if len(words) >= MOST_WORDS:
                    return list(words)[:MOST_WORDS]
    return list(words)


def letter_of(place: int) -> str:
    """Return how a workbook calls a column, of which A is the first."""
    from openpyxl.utils import get_column_letter

    return get_column_letter(place)
