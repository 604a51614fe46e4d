"""How many pages of visit sheets a second are drawn, beside bare tables of the PDF library.

Run by name: `pytest tests/benchmarks/bench_sheets.py -s`; it takes a minute.  A bare page is a
table of the words of a visit sheet in the same typeface, a word a cell; nothing in it is broken
into lines, drawn, or told to who has it read aloud, which a sheet is.  Both are drawn in turn in
one process and told by its own seconds of processor; what two processes draw beside each other
goes by the clock, so that a machine at other work makes it look worse.
"""

from dataclasses import replace
from functools import partial
from io import BytesIO
from multiprocessing import get_context
from time import perf_counter, process_time

import pytest
from pypdf import PdfReader
from reportlab.lib.pagesizes import LETTER
from reportlab.platypus import PageBreak, SimpleDocTemplate, Table, TableStyle

from services.sheets.typefaces import SANS
from services.sheets.visit_sheet import draw_visit_sheets
from tests.benchmarks.further_down import further_down
from tests.services.sheets.conftest import hedge, imprint, run, sheets, stop

__all__ = ["hedge", "imprint", "run", "sheets", "stop"]  # fixtures of the papers

STOPS, ROUNDS = 20, 5
FURTHER = 16  # calls further down each round
IN_A_ROW = 8
OF_BARE, SCALING = 0.6, 1.8

pytestmark = pytest.mark.slow


def bare(words_by_page):
    """Return a paper of bare tables, one for the words of each page."""
    style = TableStyle(
        [
            ("FONT", (0, 0), (-1, -1), SANS, 7),
            ("GRID", (0, 0), (-1, -1), 0.5, "black"),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ]
    )
    story = []
    for words in words_by_page:
        rows = [words[start : start + IN_A_ROW] for start in range(0, len(words), IN_A_ROW)]
        rows[-1] = rows[-1] + [""] * (IN_A_ROW - len(rows[-1]))
        story += [Table(rows, style=style), PageBreak()]
    file = BytesIO()
    SimpleDocTemplate(file, pagesize=LETTER, topMargin=36, bottomMargin=36).build(story)
    return file.getvalue()


def words_of(pdf):
    return [page.extract_text().split() for page in PdfReader(BytesIO(pdf)).pages]


def pages_in(pdf):
    return len(PdfReader(BytesIO(pdf)).pages)


def drawn_many(draw):
    for _ in range(ROUNDS):
        draw()


def pages_a_second(*draws):
    """Return the pages a second of each, drawn in turn, by the quickest of some rounds."""
    pages = [pages_in(draw()) for draw in draws]
    taken = [[] for _ in draws]
    for number in range(ROUNDS):
        for draw, rounds in zip(draws, taken, strict=True):
            start = process_time()
            further_down(FURTHER * number, draw)
            rounds.append(process_time() - start)
    return [count / min(rounds) for count, rounds in zip(pages, taken, strict=True)]


def scaling_of(draw):
    """Return how many times what one process draws two draw by the clock."""
    return 2 * side_by_side(draw, 1) / side_by_side(draw, 2)


def side_by_side(draw, workers):
    """Return by the clock how long so many processes draw, once they are warm."""
    with get_context("fork").Pool(workers) as pool:
        pool.map(drawn_many, [draw] * workers, chunksize=1)
        start = perf_counter()
        pool.map(drawn_many, [draw] * workers, chunksize=1)
        return perf_counter() - start


def test_visit_sheets_beside_bare_pages(sheets, record_property):
    stop = sheets.stops[0]
    stops = tuple(
        replace(stop, place=replace(stop.place, address=f"Invented place {number}"))
        for number in range(STOPS)
    )
    paper = replace(sheets, stops=stops)

    words = words_of(draw_visit_sheets(paper))
    draw, draw_bare = partial(draw_visit_sheets, paper), partial(bare, words)
    ours, least = pages_a_second(draw, draw_bare)
    scaling, of_bare = scaling_of(draw), scaling_of(draw_bare)

    print(  # noqa: T201
        f"\n{max(map(len, words))} words on a page: {ours:.0f} pages of visit sheets a second, "
        f"{least:.0f} bare, {ours / least:.2f} of the rate; two processes draw {scaling:.2f} times "
        f"what one does, of bare pages {of_bare:.2f}"
    )
    record_property("visit sheets, beside bare pages", OF_BARE * least / ours)
    record_property("visit sheets of two processes", SCALING / scaling)
    assert ours / least >= OF_BARE
    assert scaling >= SCALING
