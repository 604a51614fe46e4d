"""What all paper shares: who prints it and on what, its type, its boxes and tables."""

import re
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from itertools import groupby
from zoneinfo import ZoneInfo

from reportlab.lib.abag import ABag
from reportlab.lib.colors import Color
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph, Table
from reportlab.platypus.paraparser import ParaFrag
from reportlab.platypus.tables import CellStyle
from segno import make_qr

from services.sheets.charts.pen import EMBER, HAIRLINE, INK, PLUM, QUIET, Figure
from services.sheets.structure import DATA, LAYOUT, LIST, NAMED, TableShape, TaggedCanvas
from services.sheets.text import NOTE, cleaned, txt
from services.sheets.typefaces import SANS, SANS_BOLD, SERIF, SERIF_BOLD, SERIF_ITALIC

PAGE_SIZES = {"letter": LETTER, "a4": A4}
MARGIN = 0.6 * 72
LONGEST_CODE = 800
# Where more points than this are left, hardly anything stands on the page yet.
FRESH_PAGE = 520


@dataclass(frozen=True, slots=True)
class Imprint:
    """Who prints a sheet, for a reader of which language, on which paper, and when.

    paper: letter or a4
    zone: IANA name of the zone in which times are shown
    """

    business: str
    licence: str
    printed_at: datetime
    phone: str = ""
    address: str = ""
    language: str = "en"
    paper: str = "letter"
    zone: str = "America/New_York"

    def page_size(self) -> tuple[float, float]:
        """Return width and height of the paper in points."""
        return PAGE_SIZES[self.paper]

    def measure(self) -> float:
        """Return the width between the margins in points."""
        return self.page_size()[0] - 2 * MARGIN

    def local(self, moment: datetime) -> datetime:
        """Return a moment in the zone of the sheet."""
        return moment.astimezone(ZoneInfo(self.zone))


def _style(face: str, size: float, lead: float = 1.22, colour: Color = INK) -> ParagraphStyle:
    return ParagraphStyle(
        f"{face} {size}",
        fontName=face,
        bulletFontName=face,
        fontSize=size,
        leading=round(size * lead, 1),
        textColor=colour,
        splitLongWords=1,
        embeddedHyphenation=0,
    )


TITLE = _style(SERIF_BOLD, 22, 1.16)
HEADING = _style(SERIF_BOLD, 13, 1.2)
LEAD = _style(SERIF_BOLD, 16, 1.2)
BODY = _style(SERIF, 11, 1.25)
PLAIN = _style(SANS, 11, 1.18)
STRONG = _style(SANS_BOLD, 11, 1.18)
LABEL = _style(SANS, 11, 1.18, QUIET)
FIGURES = _style(SANS_BOLD, 26, 1.12)
NUMBER = _style(SANS_BOLD, 16, 1.15)
SMALL = _style(SANS, 8.5, 1.2, QUIET)
SMALL_INK = _style(SANS, 9, 1.2)
SMALL_STRONG = _style(SANS_BOLD, 9.5, 1.2)
# The record's own: small enough for every field of every rule on one page.
SIDE_HEADING = _style(SERIF_BOLD, 10.5, 1.14)
CAPTION = _style(SANS, 7.5, 1.12, QUIET)
ENTRY = _style(SANS, 8.5, 1.14)
ENTRY_STRONG = _style(SANS_BOLD, 8.5, 1.14)
SMALLEST = _style(SANS, 6.5, 1.14, QUIET)
WARNED_SMALL = _style(SANS_BOLD, 9, 1.16, EMBER)
ASIDE = _style(SERIF_ITALIC, 11, 1.22)
WARNED = _style(SANS_BOLD, 11, 1.18, EMBER)


ROLES = {TITLE: "H1", HEADING: "H2", SIDE_HEADING: "H2"}


# Nothing that acts as markup, and no blanks that the library would make one of.
WITHOUT_MARKUP = re.compile(r"(?:[^\s<&]|\u00a0| (?! ))+")


class Told(Paragraph):
    """A paragraph that tells what it is: by its style, or otherwise where that is said."""

    role = ""
    room: tuple[float, float, float] | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the room that the text takes; a table asks twice, its lines are broken once."""
        if self.room is None or self.room[0] != width or not hasattr(self, "blPara"):
            self.room = (width, *super().wrap(width, height))
        return self.room[1:]

    def tagged(self, canvas: TaggedCanvas) -> AbstractContextManager[None]:
        """Draw content of the role of this text."""
        return canvas.tagged(self.role or ROLES.get(self.style, "P"))

    def draw(self) -> None:
        """Draw the text as content of its role."""
        part_lines(self)
        with self.tagged(self.canv):
            super().draw()


class Unmarked(Told):
    """A text without markup; what one line has room for is neither broken nor drawn by its words.

    Most texts are that, and it takes half the time.
    """

    def breakLines(self, widths: list[float]) -> ABag:  # noqa: N802
        """Return the lines as the library does: of one piece, with the room that each leaves."""
        piece = self.frags[0]
        text = getattr(piece, "text", "")
        room = widths[0] - stringWidth(text, piece.fontName, piece.fontSize)
        if not text.strip() or room < 0:
            return super().breakLines(widths)
        return piece.clone(kind=0, lines=[(room, [text])])

    def drawOn(self, canvas: TaggedCanvas, x: float, y: float, _sW: float = 0) -> None:  # noqa: N802, N803
        """Draw one line where it stands; several as the library draws them."""
        lines, style = self.blPara.lines, self.style
        if len(lines) != 1:
            super().drawOn(canvas, x, y, _sW)
            return
        with self.tagged(canvas), canvas.inked(style.textColor):
            line = canvas.beginText(x, y + self.height - style.fontSize)
            line.setFont(style.fontName, style.fontSize)
            line.textLine(" ".join(lines[0][1]))
            canvas.drawText(line)


def part_lines(paragraph: Paragraph) -> None:
    """Let each line but the last end in a space, or its words run together when read [ISO32000]."""
    for line in paragraph.blPara.lines[:-1]:
        if isinstance(line, tuple):
            words = line[1]
            if words and words[-1]:
                words.append("")
        elif line.words and not line.words[-1].text.endswith(" "):
            line.words[-1].text += " "


def said(
    text: object, style: ParagraphStyle = BODY, limit: int = NOTE, role: str = ""
) -> Paragraph:
    """Return a paragraph in which nothing of the text acts as markup.

    role: what it is in the structure of the paper, where its style does not say it
    """
    paragraph = _told(txt(text, limit).strip(" "), style)
    paragraph.role = role
    return paragraph


def _told(markup: str, style: ParagraphStyle) -> Told:
    """Return a paragraph; one without markup is not parsed, which takes longer than to draw it."""
    if WITHOUT_MARKUP.fullmatch(markup):
        return Unmarked("", style, frags=[_plain(style).clone(text=markup)])
    return Told(markup, style)


@lru_cache(maxsize=64)
def _plain(style: ParagraphStyle) -> ParaFrag:
    """Return a text without markup as the library parses it in a style."""
    return Paragraph("text", style).frags[0]


def with_note(
    text: object, note: object, style: ParagraphStyle, size: float | None = None
) -> Paragraph:
    """Return a paragraph that ends in a note of smaller type, two points less unless told."""
    size = size or style.fontSize - 2
    first, second = txt(text), txt(note)
    if first and second and WITHOUT_MARKUP.fullmatch(f"{first} {second}"):
        small = {"text": second, "fontSize": size, "__tag__": "font"}
        plain = _plain(style)
        return Told("", style, frags=[plain.clone(text=f"{first} "), plain.clone(**small)])
    return Told(f'{first} <font size="{size}">{second}</font>', style)


class Led(Told):
    """A text that leads to a part of the same paper, by the key of its bookmark."""

    def __init__(self, text: str, key: str, style: ParagraphStyle) -> None:
        super().__init__(f'<a href="#{key}">{txt(text)}</a>', style)


class Cell(CellStyle):
    """How a cell is set, where its table says nothing else.

    side, edge: points left and right, points above and below
    """

    name = ""
    fontname, fontsize, leading, color, valign = SANS, 11, 13.2, INK, "TOP"

    def __init__(self, side: float, edge: float) -> None:
        self.leftPadding = self.rightPadding = side
        self.topPadding = self.bottomPadding = edge


class RuledTable(Table):
    """A table that breaks between rows, and within a row only where a whole page is too small."""

    def split(self, width: float, height: float) -> list[Flowable]:
        """Return the parts before and after the end of the page."""
        self.splitInRow = 1 if height > FRESH_PAGE else 0
        return super().split(width, height)


def ruled(
    rows: Sequence[Sequence[object]],
    widths: Sequence[float],
    commands: Sequence[tuple[object, ...]] = (),
    padding: tuple[float, float] = (4, 2),
    shape: TableShape = LAYOUT,
) -> Table:
    """Return a table without lines of its own; what is too tall for a page runs on to the next.

    padding: points left and right, points above and below; shape: what it is to who has it read
    aloud; rows that head the columns stand on each page
    """
    return RuledTable(
        [list(row) for row in rows],
        colWidths=list(widths),
        cellStyles=[[Cell(*padding) for _ in widths] for _ in rows],
        style=list(commands),
        repeatRows=shape.heads,
        renderCB=shape,
        hAlign="LEFT",
    )


def boxed(
    contents: Sequence[Flowable], width: float, weight: float = 1.2, colour: Color = INK
) -> Table:
    """Return contents within a ruled box, each on a row so that the box can break between them."""
    return ruled(
        [[content] for content in contents],
        [width],
        [
            ("BOX", (0, 0), (-1, -1), weight, colour),
            ("TOPPADDING", (0, 0), (-1, 0), 5),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 6),
        ],
        padding=(8, 0.5),
    )


def columns(cells: Sequence[Sequence[Flowable]], widths: Sequence[float]) -> Table:
    """Return lists of contents side by side."""
    return ruled([[list(cell) for cell in cells]], widths, [("LEFTPADDING", (0, 0), (0, 0), 0)])


def listed(
    items: Sequence[str], style: ParagraphStyle, width: float, numbered: bool = False
) -> Table:
    """Return items as lines with a number or a dash before each."""
    rows = [
        [f"{place}." if numbered else "–", said(item, style)]
        for place, item in enumerate(items, start=1)
    ]
    indent = 15 if numbered else 9
    widths = [indent, width - indent]
    return ruled(rows or [["", ""]], widths, lettered(0, style), (0, 0.4), LIST)


def lettered(column: int, style: ParagraphStyle) -> list[tuple[object, ...]]:
    """Return how a column of a table is set whose short words are never broken into lines."""
    cells = ((column, 0), (column, -1))
    return [
        ("FONT", *cells, style.fontName, style.fontSize, style.leading),
        ("TEXTCOLOR", *cells, style.textColor),
    ]


class Drawn(Flowable):
    """A figure set into the text, enlarged where its lettering must be larger."""

    def __init__(self, figure: Figure, zoom: float = 1.0) -> None:
        super().__init__()
        self.figure = figure
        self.zoom = zoom
        self.width = figure.drawing.width * zoom
        self.height = figure.drawing.height * zoom

    def wrap(self, *_available: float) -> tuple[float, float]:
        """Return the room that the figure takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the figure as vectors."""
        told = f"{self.figure.title}. {self.figure.description}"
        self.canv.scale(self.zoom, self.zoom)
        with self.canv.tagged("Figure", told):
            self.figure.drawing.drawOn(self.canv, 0, 0)


@lru_cache(maxsize=8)  # a batch of records bears one code on each
def _runs_of(content: str) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """Return the size of a code, and its dark modules: column, row from below, how many in a row.

    Those that stand side by side are one, so that no seam shows between.
    """
    matrix = make_qr(content, error="m").matrix
    runs = []
    for row, line in enumerate(reversed(matrix)):
        column = 0
        for dark, run in groupby(line):
            length = len(list(run))
            if dark:
                runs.append((column, row, length))
            column += length
    return len(matrix), tuple(runs)


class Code(Flowable):
    """A QR code drawn as one path."""

    def __init__(self, content: str, size: float = 60) -> None:
        super().__init__()
        self.content = content
        self.modules, self.runs = _runs_of(content)
        self.width = self.height = size

    def wrap(self, *_available: float) -> tuple[float, float]:
        """Return the room that the code takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the dark modules, each of one unit."""
        with self.canv.tagged("Figure", f"QR: {self.content}"):
            self.canv.scale(self.width / self.modules, self.height / self.modules)
            self.canv.setFillColor(INK)
            self.canv.fill_runs(self.runs)


def coded(content: str, size: float) -> list[Flowable]:
    """Return a code of a text, or nothing when there is no text or too much for a code."""
    text = cleaned(content)
    return [Code(text, size)] if text and len(text) <= LONGEST_CODE else []


__all__ = [
    "ASIDE",
    "BODY",
    "CAPTION",
    "DATA",
    "EMBER",
    "ENTRY",
    "ENTRY_STRONG",
    "FIGURES",
    "HAIRLINE",
    "HEADING",
    "INK",
    "LABEL",
    "LEAD",
    "MARGIN",
    "NAMED",
    "NUMBER",
    "PLAIN",
    "PLUM",
    "QUIET",
    "SIDE_HEADING",
    "SMALL",
    "SMALLEST",
    "SMALL_INK",
    "SMALL_STRONG",
    "STRONG",
    "TITLE",
    "WARNED",
    "WARNED_SMALL",
    "Code",
    "Drawn",
    "Imprint",
    "Led",
    "boxed",
    "coded",
    "columns",
    "lettered",
    "listed",
    "ruled",
    "said",
    "with_note",
]
