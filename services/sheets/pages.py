"""Pages and their feet: business and licence, page x of y, when it was printed."""

from collections import Counter
from collections.abc import Sequence
from datetime import UTC
from functools import partial
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from services.sheets.charts.pen import EMBER, HAIRLINE, INK, QUIET, tint
from services.sheets.dates import exact_moment
from services.sheets.layout import MARGIN, Imprint
from services.sheets.structure import TaggedCanvas
from services.sheets.text import NAME, cleaned, fitted, printable
from services.sheets.typefaces import SANS, SANS_BOLD
from services.sheets.words import words_in

FOOT = 30.0


class Section(Flowable):
    """Where a part with a page count of its own begins; its head stands in the foot.

    mark: a word such as VOID that is written across each page of the part; language: of the
    part, where it may be another one than that of the paper; imprint: of the feet of the part,
    where they are read by somebody else than who reads the paper
    """

    def __init__(
        self, head: str, mark: str = "", language: str = "", imprint: Imprint | None = None
    ) -> None:
        super().__init__()
        self.head = cleaned(head, NAME)
        self.mark = mark
        self.language = language or (imprint.language if imprint else "")
        self.imprint = imprint

    def wrap(self, *_available: float) -> tuple[float, float]:
        """Take no room."""
        return 0, 0

    def draw(self) -> None:
        """Tell the page which part it belongs to, and list the part in the outline."""
        self.canv.begin_section(self.head, self.mark, self.imprint)
        self.canv.structure.begin_part("Sect", 1, self.language)


class Tongue(Section):
    """Where a passage in one language begins, within its part."""

    def __init__(self, language: str) -> None:
        super().__init__("", language=language)

    def draw(self) -> None:
        """Tell the structure of the paper."""
        self.canv.structure.begin_part("Div", 2, self.language)


class SheetCanvas(TaggedCanvas):
    """A canvas that writes the feet last, when the number of pages is known."""

    def __init__(self, *arguments: object, imprint: Imprint, **options: object) -> None:
        super().__init__(*arguments, **options)
        self.imprint = imprint
        self.section: tuple[int, str, str, Imprint] = (0, "", "", imprint)
        self.finished: list[dict[str, object]] = []
        self.parts: dict[int, list[tuple[str, str]]] = {}
        date_by(self, imprint)

    def begin_section(self, head: str, mark: str, imprint: Imprint | None = None) -> None:
        """Begin a part at this page, its feet by the imprint of the paper or one of its own."""
        self.section = (self.section[0] + 1, head, mark, imprint or self.imprint)
        named = (f"part-{self.section[0]}", printable(head))
        self.parts.setdefault(self._pageNumber, []).append(named)

    def showPage(self) -> None:  # noqa: N802
        """Put the page aside until all pages are there."""
        self.finished.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write each page with its foot, then the file."""
        lengths = Counter(page["section"] for page in self.finished)
        place: Counter[object] = Counter()
        for page in self.finished:
            self.__dict__.update(page)
            place[self.section] += 1
            self.list_parts()
            with self.artifact():
                draw_foot(self, place[self.section], lengths[self.section])
                draw_mark(self, self.section[2])
            super().showPage()
        super().save()

    def list_parts(self) -> None:
        """List the parts that begin on this page in the outline; only now has it its place."""
        for key, head in self.parts.get(self._pageNumber, ()):
            self.bookmarkPage(key)
            self.addOutlineEntry(head, key)


def date_by(canvas: Canvas, imprint: Imprint) -> None:
    """Date a file by what is printed, so that a sheet gives the same bytes; show its title."""
    printed = imprint.printed_at.astimezone(UTC)
    canvas.setDateFormatter(lambda *_now: f"D:{printed:%Y%m%d%H%M%S}Z")
    canvas.setViewerPreference("DisplayDocTitle", "true")


def draw_foot(canvas: SheetCanvas, page: int, pages: int) -> None:
    """Draw the foot of a page: its part, its place among the pages, the business, the time."""
    imprint = canvas.section[3]
    _ = words_in(imprint.language)
    left, right, y = MARGIN, imprint.page_size()[0] - MARGIN, MARGIN - 14
    canvas.setStrokeColor(HAIRLINE)
    canvas.setLineWidth(0.6)
    canvas.line(left, y + 24, right, y + 24)
    count = _("page %(page)s of %(pages)s") % {"page": page, "pages": pages}
    printed = _("printed %(moment)s") % {
        "moment": exact_moment(imprint.local(imprint.printed_at), imprint.language)
    }
    business = f"{imprint.business} · {imprint.licence}" if imprint.licence else imprint.business
    room = right - left
    canvas.setFillColor(INK)
    _line(canvas, (left, y + 13), canvas.section[1], room * 3 / 4, SANS_BOLD)
    canvas.drawRightString(right, y + 13, count)
    canvas.setFillColor(QUIET)
    _line(canvas, (left, y + 3), business, room, SANS)
    _line(canvas, (left, y - 7), printed, room, SANS)


def draw_mark(canvas: SheetCanvas, mark: str) -> None:
    """Write a word across the page, thin enough to read what lies under it."""
    if not mark:
        return
    width, height = canvas.imprint.page_size()
    canvas.saveState()
    canvas.translate(width / 2, height / 2)
    canvas.rotate(38)
    canvas.setFillColor(tint(EMBER, 0.2))
    canvas.setFont(SANS_BOLD, 120)
    canvas.drawCentredString(0, -40, printable(mark, NAME))
    canvas.restoreState()


def _line(canvas: SheetCanvas, at: tuple[float, float], text: str, room: float, face: str) -> None:
    canvas.setFont(face, 8.5)
    canvas.drawString(*at, printable(fitted(text, face, 8.5, room)))


def bind(story: Sequence[Flowable], imprint: Imprint, title: str) -> bytes:
    """Return a PDF of the story; the same story always gives the same bytes."""
    file = BytesIO()
    width, height = imprint.page_size()
    document = BaseDocTemplate(
        file,
        pagesize=(width, height),
        title=cleaned(title, NAME),
        author=cleaned(imprint.business, NAME),
        subject="",
        creator="Duskbook",
        lang=imprint.language,
        invariant=1,
    )
    room = (width - 2 * MARGIN, height - 2 * MARGIN - FOOT + 14)
    frame = Frame(
        MARGIN,
        MARGIN + FOOT - 14,
        *room,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document.addPageTemplates([PageTemplate("sheet", [frame])])
    document.build(list(story), canvasmaker=partial(SheetCanvas, imprint=imprint))
    return file.getvalue()
