"""A posting sign true to size, with marks to cut along and an inch to measure by.

Nothing but what the rule asks stands within the cut marks; all that is ours stands outside.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from services.sheets.charts.pen import INK, QUIET
from services.sheets.layout import MARGIN, Imprint
from services.sheets.pages import date_by
from services.sheets.pictograms import CIRCLE, HAND, Colors, draw_circle, draw_hand_and_face
from services.sheets.structure import TaggedCanvas
from services.sheets.text import NAME, cleaned, printable
from services.sheets.typefaces import SANS, SANS_BOLD
from services.sheets.words import words_in

INCH = 72.0
EDGE = 9.0  # free at the edge of the sign, points: our own choice
LEAST_GAP = 3.0
NARROWEST = 0.55  # of the width of the type; its height is never lessened
# Heights in the sans semibold, parts of the size of the type: of the letters H and x.
CAPITAL, SMALL = 0.654, 0.491
ASCENDER, DESCENDER = 0.72, 0.21
CUT = 14.0
HEAD = 40.0
BESIDE = 230.0  # for what is told under a sign, points
MOST_SIGNS = 600

PRINTED = {
    "yellow": HexColor("#ffe500"),
    "bright yellow": HexColor("#fff000"),
    "white": HexColor("#ffffff"),
    "green": HexColor("#00682f"),
    "red": HexColor("#c8102e"),
    "black": HexColor("#000000"),
}

SYMBOL = "The symbol of the rule, as the owner took it from the code."


class SignDoesNotFit(ValueError):
    """What must stand on the sign is more than its size holds at the size of its letters."""


@dataclass(frozen=True, slots=True)
class Words:
    """Words to be set in the middle: type in points, or the least height of a letter in inches."""

    text: str
    points: float | None = None
    letters_in: float | None = None


@dataclass(frozen=True, slots=True)
class Circle:
    """The prohibition circle, its outer width in inches."""

    circle_in: float
    leash: bool = False
    lawn: bool = False
    figure: str = "walkers"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A symbol from a picture, a PNG; its width in inches."""

    drawing_in: float
    content: bytes

    def height_in(self) -> float:
        """Return how high it is at its width, in inches."""
        width, height = ImageReader(BytesIO(self.content)).getSize()
        return self.drawing_in * height / width


Part = Words | Circle | Drawing


@dataclass(frozen=True, slots=True)
class PostingSign:
    """A sign and what is told beside it.

    background, lettering: colors by the names of the rule; "" is white and black
    beside: sentences outside the cut marks
    """

    imprint: Imprint
    title: str
    width_in: float
    height_in: float
    background: str
    lettering: str
    parts: tuple[Part, ...]
    beside: tuple[str, ...]
    both_sides: bool = False
    back: tuple[Part, ...] = ()

    def faces(self) -> list[tuple[Part, ...]]:
        """Return what stands on each face, the front first."""
        if self.back:
            return [self.parts, self.back]
        return [self.parts] * (2 if self.both_sides else 1)

    def page_size(self) -> tuple[float, float]:
        """Return width and height of its page in points: the paper's, or more for a large sign."""
        width, height = self.imprint.page_size()
        most = HEAD + len(self.faces()) * self.height_in * INCH + BESIDE
        return max(width, self.width_in * INCH + 2 * HEAD), max(height, most)


@dataclass(frozen=True, slots=True)
class Line:
    """A line of words as it is set; above and below are the reach of its letters in points."""

    text: str
    size: float
    narrowed: float
    above: float
    below: float

    def height(self) -> float:
        """Return the room from the top of its letters to their bottom."""
        return self.above + self.below


Row = Line | Circle | Drawing


def colors_of(sign: PostingSign) -> Colors:
    """Return what a sign is printed in; a color no rule names is white, or black on it."""
    return Colors(_color(sign.background, "white"), _color(sign.lettering, "black"))


def _color(name: str, otherwise: str) -> Color:
    first = name.partition(",")[0].removesuffix(" bold").strip()
    return PRINTED.get(first, PRINTED[otherwise])


def type_size(words: Words) -> float:
    """Return the size of the type; of letters by height the smallest is as high as is asked."""
    if words.letters_in is None:
        return float(words.points or 12)
    letters = words.letters_in * INCH
    return letters / (CAPITAL if words.text.upper() == words.text else SMALL)


def lines_of(words: Words, width: float) -> list[Line]:
    """Return words broken into lines no wider than the sign, narrowed only where one word asks.

    Raises SignDoesNotFit where a word stays too wide.
    """
    size = type_size(words)
    parts = printable(words.text, MOST_SIGNS).split()
    longest = max((stringWidth(part, SANS_BOLD, size) for part in parts), default=0)
    narrowed = min(1.0, width / longest) if longest else 1.0
    if narrowed < NARROWEST:
        raise SignDoesNotFit(words.text)
    return broken(parts, size, narrowed, width)


def broken(parts: Sequence[str], size: float, narrowed: float, width: float) -> list[Line]:
    """Return words as lines, each as full as the width allows."""
    rows: list[str] = []
    for part in parts:
        longer = f"{rows[-1]} {part}" if rows else part
        if rows and stringWidth(longer, SANS_BOLD, size) * narrowed <= width + 0.01:
            rows[-1] = longer
        else:
            rows.append(part)
    return [_line(row, size, narrowed) for row in rows]


def _line(text: str, size: float, narrowed: float) -> Line:
    above = CAPITAL if text.upper() == text else ASCENDER
    below = DESCENDER if set(text) & set("gjpqyQ,;()") else 0.02
    return Line(text, size, narrowed, above * size, below * size)


def laid_out(sign: PostingSign, parts: Sequence[Part] = ()) -> list[Row]:
    """Return the lines and figures of a face; type is narrowed where they are too many.

    parts: of the face, if not of the front

    Raises SignDoesNotFit where they are too many all the same.
    """
    return check_fit(sign.width_in, sign.height_in, parts or sign.parts)


def check_fit(width_in: float, height_in: float, parts: Sequence[Part]) -> list[Row]:
    """Return what stands on a face of a size in inches, row by row.

    Raises SignDoesNotFit where they are too many all the same.
    """
    width, height = width_in * INCH - 2 * EDGE, height_in * INCH - 2 * EDGE
    for tenths in range(20, int(NARROWEST * 20) - 1, -1):
        rows = list(_rows(parts, width, tenths / 20))
        if sum(map(_height, rows)) + LEAST_GAP * (len(rows) - 1) <= height:
            return rows
    raise SignDoesNotFit(f"{width_in} by {height_in} inches")


def _rows(parts: Sequence[Part], width: float, narrowed: float) -> list[Row]:
    rows: list[Row] = []
    for part in parts:
        if isinstance(part, Circle | Drawing):
            rows.append(part)
            continue
        lines = lines_of(part, width / narrowed)
        rows += [_line(line.text, line.size, line.narrowed * narrowed) for line in lines]
    return rows


def _height(row: Row) -> float:
    if isinstance(row, Drawing):
        return row.height_in() * INCH
    return row.circle_in * INCH if isinstance(row, Circle) else row.height()


def draw_posting_sign(sign: PostingSign) -> bytes:
    """Return a PDF of a sign; the same sign always gives the same bytes.

    Raises SignDoesNotFit.
    """
    file = BytesIO()
    faces = [laid_out(sign, parts) for parts in sign.faces()]
    page_width, page_height = sign.page_size()
    # Signs are in the language of the rule, which is English.
    canvas = TaggedCanvas(file, pagesize=(page_width, page_height), invariant=1, lang="en")
    canvas.setTitle(cleaned(sign.title, NAME))
    canvas.setAuthor(cleaned(sign.imprint.business, NAME))
    canvas.setCreator("Duskbook")
    date_by(canvas, sign.imprint)
    left = (page_width - sign.width_in * INCH) / 2
    bottom = page_height - HEAD
    for rows in faces:
        bottom -= sign.height_in * INCH
        draw_face(canvas, sign, rows, (left, bottom))
        with canvas.artifact():
            draw_cut_marks(canvas, sign, (left, bottom))
    canvas.structure.begin_part("Sect", 1, sign.imprint.language)
    draw_beside(canvas, sign, bottom - CUT - 8)
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def draw_face(
    canvas: TaggedCanvas, sign: PostingSign, rows: Sequence[Row], at: tuple[float, float]
) -> None:
    """Draw what stands on a sign, with the free room shared out between its parts."""
    left, bottom = at
    width, height = sign.width_in * INCH, sign.height_in * INCH
    colors = colors_of(sign)
    canvas.structure.begin_part("Sect", 1, "")
    with canvas.artifact():
        canvas.setFillColor(colors.ground)
        canvas.rect(left, bottom, width, height, stroke=0, fill=1)
    gap = (height - 2 * EDGE - sum(map(_height, rows))) / max(len(rows) + 1, 1)
    top, middle = bottom + height - EDGE - gap, left + width / 2
    for row in rows:
        top -= _height(row)
        if isinstance(row, Circle):
            _draw_circle(canvas, row, (middle, top), colors)
        elif isinstance(row, Drawing):
            _draw_picture(canvas, row, (middle, top))
        else:
            _draw_line(canvas, row, (middle, top + row.below), colors)
        top -= gap


def _draw_circle(
    canvas: TaggedCanvas, row: Circle, at: tuple[float, float], colors: Colors
) -> None:
    radius = row.circle_in * INCH / 2
    centre = (at[0], at[1] + radius)
    if row.figure == "hand":
        with canvas.tagged("Figure", HAND):
            draw_hand_and_face(canvas, centre, radius)
        return
    with canvas.tagged("Figure", CIRCLE):
        draw_circle(canvas, centre, radius, colors, row.leash, row.lawn)


def _draw_picture(canvas: TaggedCanvas, row: Drawing, at: tuple[float, float]) -> None:
    width = row.drawing_in * INCH
    with canvas.tagged("Figure", SYMBOL):
        canvas.drawImage(
            ImageReader(BytesIO(row.content)),
            at[0] - width / 2,
            at[1],
            width,
            _height(row),
            mask="auto",
        )


def _draw_line(canvas: TaggedCanvas, line: Line, at: tuple[float, float], colors: Colors) -> None:
    wide = stringWidth(line.text, SANS_BOLD, line.size) * line.narrowed
    text = canvas.beginText(at[0] - wide / 2, at[1])
    text.setFont(SANS_BOLD, line.size)
    text.setFillColor(colors.mark)
    text.setHorizScale(line.narrowed * 100)
    text.textOut(line.text)
    with canvas.tagged("P"):
        canvas.drawText(text)


def draw_cut_marks(canvas: Canvas, sign: PostingSign, at: tuple[float, float]) -> None:
    """Draw two strokes outside each corner of a sign."""
    left, bottom = at
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.5)
    for x, outward in ((left, -1), (left + sign.width_in * INCH, 1)):
        for y, upward in ((bottom, -1), (bottom + sign.height_in * INCH, 1)):
            canvas.line(x + 3 * outward, y, x + CUT * outward, y)
            if len(sign.faces()) == 1 or _is_outer(sign, y):
                canvas.line(x, y + 3 * upward, x, y + CUT * upward)


def _is_outer(sign: PostingSign, y: float) -> bool:
    """Say whether an edge is not the fold between the two faces of a sign."""
    fold = sign.page_size()[1] - HEAD - sign.height_in * INCH
    return abs(y - fold) > 1


def draw_beside(canvas: TaggedCanvas, sign: PostingSign, top: float) -> None:
    """Draw an inch to measure by, and what is told of the sign, under the cut marks."""
    _ = words_in(sign.imprint.language)
    left, y = MARGIN, top - 10
    with canvas.artifact():
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(1)
        canvas.line(left, y, left + INCH, y)
        for end in (left, left + INCH):
            canvas.line(end, y - 4, end, y + 4)
    canvas.setFillColor(INK)
    canvas.setFont(SANS_BOLD, 9)
    measured = _("This bar is one inch long. Print at 100 %, not fitted to the page, and measure.")
    with canvas.tagged("P"):
        canvas.drawString(left + INCH + 10, y - 3, printable(measured, NAME))
    canvas.setFont(SANS, 8.5)
    canvas.setFillColor(QUIET)
    for sentence in sign.beside:
        for row in _wrapped(sentence, sign.imprint.measure()):
            y -= 11.5
            with canvas.tagged("P"):
                canvas.drawString(left, y - 6, row)


def _wrapped(sentence: str, width: float) -> list[str]:
    rows = [""]
    for part in printable(sentence, MOST_SIGNS).split():
        longer = f"{rows[-1]} {part}".strip()
        if stringWidth(longer, SANS, 8.5) <= width:
            rows[-1] = longer
        else:
            rows.append(part)
    return rows
