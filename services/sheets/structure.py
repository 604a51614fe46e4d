"""The structure of a paper for whoever has it read aloud: headings, paragraphs, tables, figures.

Marked content, structure elements and the tree of parents as the standard of the format has them,
14.6 to 14.8 [ISO32000].  The PDF library writes none of it, so elements are written here.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

from reportlab import rl_config
from reportlab.lib.colors import Color
from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFObject
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Table

from services.sheets.packed import PackedDocument
from services.sheets.text import cleaned

rl_config.useA85 = 0  # streams are bytes, not letters, which takes a fifth less
ROOT = "Structure"
CELLS = frozenset({"TD", "TH", "Lbl", "LBody"})
state_of = itemgetter(*Canvas.STATE_ATTRIBUTES)


class Element(PDFObject):
    """A part of a paper: its role, what is in it, and what is told of it.

    kids: elements, and the numbers of its marked content on its page
    page: which page its content stands on, counted from 1; None where it has none of its own
    """

    def __init__(self, role: str, parent: "Element | None", name: str, more: str = "") -> None:
        self.role, self.parent, self.name, self.more = role, parent, name, more
        self.kids: list[Element | int] = []
        self.page: int | None = None
        if parent is not None:
            parent.kids.append(self)

    def format(self, document: object) -> bytes:
        """Return the element as it stands in the file."""
        numbers = document.idToObjectNumberAndVersion  # type: ignore[attr-defined]

        def led(name: str) -> str:
            return f"{numbers[name][0]} 0 R"

        kids = " ".join(
            led(kid.name) if isinstance(kid, Element) else str(kid) for kid in self.kids
        )
        parent = led(self.parent.name if self.parent else ROOT)
        page = f" /Pg {led(f'Page{self.page}')}" if self.page else ""
        told = f"<< /S /{self.role} /P {parent}{page} /K [{kids}]{self.more} >>"
        return told.encode("ascii")


class Structure:
    """The tree of a paper while it is drawn, and which element each piece of a page belongs to."""

    def __init__(self) -> None:
        self.elements: list[Element] = []
        self.open: list[Element] = []
        self.pieces: dict[int, list[Element]] = {}
        self.begin("Document")

    def begin(self, role: str, more: str = "") -> None:
        """Open an element within the one that is open; that one itself where there is no role."""
        if not role:
            self.open.append(self.open[-1])
            return
        parent = self.open[-1] if self.open else None
        element = Element(role, parent, f"Element{len(self.elements)}", more)
        self.elements.append(element)
        self.open.append(element)

    def end(self) -> None:
        """Close what was opened last."""
        self.open.pop()

    def begin_part(self, role: str, depth: int, language: str) -> None:
        """Close what is open below a depth, and open a part there, in a language of its own."""
        del self.open[depth:]
        self.begin(role, f" /Lang ({language})" if language else "")

    def piece(self, page: int) -> int:
        """Return the number of a new piece of the page that belongs to the open element."""
        element, pieces = self.open[-1], self.pieces.setdefault(page, [])
        element.page = page
        element.kids.append(len(pieces))
        pieces.append(element)
        return len(pieces) - 1


class TaggedCanvas(Canvas):
    """A canvas that keeps what each thing on it is; what is no content is marked as an artifact."""

    _extgstate: Any  # of the library, which tells no types

    def __init__(self, *arguments: object, **options: object) -> None:
        super().__init__(*arguments, **options)
        self.structure = Structure()
        self.cells: list[bool] = []

    @contextmanager
    def tagged(self, role: str, told: str = "") -> Iterator[None]:
        """Draw content of a role; within a cell it belongs to the cell.

        told: what stands for a figure where nobody sees it
        """
        is_of_cell = not told and self.structure.open[-1].role in CELLS
        more = f" /Alt {text_string(told)}" if told else ""
        self.structure.begin("" if is_of_cell else role, more)
        self._begin_piece("Span" if is_of_cell else role)
        yield
        self.end_piece()
        self.structure.end()

    def push_state_stack(self) -> None:
        """Keep what is drawn by, as the library does, which asks each of it by itself."""
        self.state_stack.append(state_of(self.__dict__))
        self._extgstate = self._extgstate.pushCopy()

    def pop_state_stack(self) -> None:
        """Draw again by what was kept last."""
        kept = zip(self.STATE_ATTRIBUTES, self.state_stack.pop(), strict=True)
        self.__dict__.update(kept)

    @contextmanager
    def inked(self, color: Color) -> Iterator[None]:
        """Draw in a color, and in that from before afterwards, where it is another one."""
        if self._fillColorObj is color:
            yield
            return
        self.saveState()
        self.setFillColor(color)
        yield
        self.restoreState()

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """Draw what is no content, such as a rule, a ground or the foot of a page."""
        self.begin_artifact()
        yield
        self.end_piece()

    def begin_artifact(self) -> None:
        """Draw no content from here on."""
        self._code.append("/Artifact BMC")

    def end_piece(self) -> None:
        """End what was begun last on this page."""
        self._code.append("EMC")

    def _begin_piece(self, role: str) -> None:
        number = self.structure.piece(self._pageNumber)
        self._code.append(f"/{role} <</MCID {number}>> BDC")

    def fill_runs(self, runs: Iterable[tuple[int, int, int]]) -> None:
        """Fill rectangles one unit high: column, row from below, length."""
        drawn = " ".join(f"{column} {row} {length} 1 re" for column, row, length in runs)
        self._code.append(f"{drawn} f")

    def begin_cell(self, role: str, more: str, is_text: bool) -> None:
        """Open a cell of a table, of no role in one that only sets things side by side."""
        role = role or ("P" if is_text else "")
        self.structure.begin(role, more)
        if is_text:
            self._begin_piece(role)
        self.cells.append(is_text)

    def end_cell(self) -> None:
        """Close the cell that was opened last."""
        if self.cells.pop():
            self.end_piece()
        self.structure.end()

    def showPage(self) -> None:  # noqa: N802
        """Write the page, which names its place in the tree of parents."""
        place = self._pageNumber
        super().showPage()
        page = self._doc.Pages.pages[-1]
        page.StructParents, page.Tabs = place - 1, PDFName("S")
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]

    def save(self) -> None:
        """Write the structure, then the file."""
        if self._code:
            self.showPage()
        self.write_structure()
        self._doc.__class__ = PackedDocument
        super().save()

    def write_structure(self) -> None:
        """Put the tree of elements and the tree of parents into the file."""
        document = self._doc
        led = {each.name: document.Reference(each, each.name) for each in self.structure.elements}
        parents: list[object] = []
        for page, pieces in sorted(self.structure.pieces.items()):
            parents += [page - 1, PDFArray([led[each.name] for each in pieces])]
        tree = document.Reference(PDFDictionary({"Nums": PDFArray(parents)}))
        root = {
            "Type": PDFName("StructTreeRoot"),
            "K": led[self.structure.elements[0].name],
            "ParentTree": tree,
            "ParentTreeNextKey": len(document.Pages.pages),
        }
        catalog = document.Catalog
        catalog.StructTreeRoot = document.Reference(PDFDictionary(root), ROOT)
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def text_string(text: str) -> str:
    """Return a text as it stands in the file, in any letters."""
    return f"<{(chr(0xFEFF) + cleaned(text)).encode('utf-16-be').hex()}>"


@dataclass(frozen=True, slots=True)
class TableShape:
    """What a table is: of which roles it is itself, its rows and its cells, "" for none.

    cells: by column, the last of them for the columns after it as well
    heads: how many of its first rows head the columns
    """

    table: str = ""
    row: str = ""
    cells: tuple[str, ...] = ("",)
    heads: int = 0

    def __call__(self, table: Table, event: str, *drawn: Any) -> None:
        """Follow the drawing of a table: what it is, its rows, its cells; rules are no content."""
        canvas: TaggedCanvas = table.canv
        match event:
            case "startCell":
                row, column, content = drawn[:3]
                is_text = isinstance(content, str) and content != ""
                canvas.begin_cell(*self._told(row, column), is_text)
            case "endCell":
                canvas.end_cell()
            case "startBG" | "startLines":
                canvas.begin_artifact()
            case "endBG" | "endLines":
                canvas.end_piece()
            case "startTable" | "startRow":
                canvas.structure.begin(self.table if event == "startTable" else self.row)
            case "endTable" | "endRow":
                canvas.structure.end()

    def _told(self, row: int, column: int) -> tuple[str, str]:
        """Return the role of a cell, and what it heads."""
        role = self.cells[min(column, len(self.cells) - 1)]
        if row < self.heads:
            return "TH", " /A << /O /Table /Scope /Column >>"
        return role, " /A << /O /Table /Scope /Row >>" if role == "TH" else ""


LAYOUT = TableShape()
LIST = TableShape("L", "LI", ("Lbl", "LBody"))
DATA = TableShape("Table", "TR", ("TD",), heads=1)
NAMED = TableShape("Table", "TR", ("TH", "TD"))
