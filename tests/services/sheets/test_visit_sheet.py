"""The crew's paper: a page for the day, one page a stop, large enough for dusk."""

import io
from dataclasses import replace

import pypdf
import pytest

from services.sheets.cautions import signal_word
from services.sheets.visit_sheet import Asked, draw_visit_sheets

FOOT = 44 + 30


@pytest.fixture(params=["letter", "a4"])
def on_paper(request, sheets):
    return replace(sheets, imprint=replace(sheets.imprint, paper=request.param))


def test_the_day_and_each_stop_take_one_page(on_paper, pages_of):
    assert len(pages_of(draw_visit_sheets(on_paper))) == 1 + len(on_paper.stops)


def test_a_stop_takes_one_page_in_spanish_too(sheets, pages_of):
    spanish = replace(sheets, imprint=replace(sheets.imprint, language="es"))

    assert len(pages_of(draw_visit_sheets(spanish))) == 3


def test_a_name_of_200_signs_still_fits_the_page_of_a_stop(sheets, stop, pages_of):
    place = replace(stop.place, client="Moorcroft " * 20)

    pdf = draw_visit_sheets(replace(sheets, stops=(replace(stop, place=place),)))

    assert len(pages_of(pdf)) == 2


def test_paper_is_letter_or_a4(on_paper, pages_of):
    sizes = {"letter": (612, 792), "a4": (595, 842)}  # ISO 216: 210 by 297 mm

    page = pages_of(draw_visit_sheets(on_paper))[0]

    assert (round(page.width), round(page.height)) == sizes[on_paper.imprint.paper]


def test_a_stop_is_set_in_11_points_and_more(sheets, pages_of):
    page = pages_of(draw_visit_sheets(sheets))[1]

    sizes = [sign["size"] for sign in page.chars if sign["bottom"] < page.height - FOOT]

    assert min(sizes) >= 10.99


def test_the_mix_is_the_largest_type_of_a_stop(sheets, pages_of):
    page = pages_of(draw_visit_sheets(sheets))[1]
    largest = max(round(sign["size"]) for sign in page.chars)

    words = "".join(sign["text"] for sign in page.chars if round(sign["size"]) == largest)

    assert words.replace(" ", "") == "12.8floz100gal5.2floz41gal"
    assert largest >= 16


def test_nothing_stands_outside_the_margins(sheets, pages_of):
    for page in pages_of(draw_visit_sheets(sheets)):
        assert min(sign["x0"] for sign in page.chars) >= 0.6 * 72 - 1
        assert max(sign["x1"] for sign in page.chars) <= page.width - 0.6 * 72 + 1


@pytest.mark.parametrize(
    "words",
    [
        "214 Fairview Lane",
        "week 3 of 6",
        "4:30 pm – 5:00 pm",  # 20:30 UTC in June is 16:30 in New York
        "EPA no. 00000-0142 · lot L-2291, expires Aug 31, 2027",
        "WARNING / AVISO",
        "2 tanks, each",
        "1 tank",
        "12.8 to 16 fl oz per 100 gal",
        "organic-vapor cartridge",
        "Wind from",
        "Lot used",
        "not before Sat Jun 20, 4:00 pm",
        "The rules for Pennsylvania are not verified here",
        "The label is the law",
    ],
)
def test_a_stop_says(sheets, text_of, words):
    assert words in text_of(draw_visit_sheets(sheets))


# The numbers of the emergency block. [EPA-EMERGENCY] [NPIC-FACTS]
@pytest.mark.parametrize("number", ["911", "1-800-222-1222", "1-800-858-7378", "555-0111"])
def test_the_page_of_the_day_says_whom_to_call(sheets, pages_of, number):
    assert number in pages_of(draw_visit_sheets(sheets))[0].extract_text()


# Labels print the English word with its Spanish one; the pairs are from memory.
@pytest.mark.parametrize(
    ("word", "printed"),
    [
        ("DANGER", "DANGER / PELIGRO"),
        ("WARNING", "WARNING / AVISO"),
        ("CAUTION", "CAUTION / PRECAUCIÓN"),
        ("", "The label prints no signal word."),
    ],
)
def test_signal_words_stand_in_both_languages(word, printed):
    assert signal_word(word, "en") == printed


def test_a_restricted_product_says_who_may_apply_it(sheets, stop, text_of):
    product = replace(stop.product, restricted_use=True)

    text = text_of(draw_visit_sheets(replace(sheets, stops=(replace(stop, product=product),))))

    assert "Restricted use: certified applicator only." in text


def test_a_stop_that_cannot_be_mixed_for_says_why(sheets, stop, text_of):
    unmixed = replace(stop.mix, tanks=(), order=("No sprayer is on the truck.",))
    paper = draw_visit_sheets(replace(sheets, stops=(replace(stop, mix=unmixed),)))

    assert "No sprayer is on the truck. Do not mix; ask the office." in text_of(paper)


def test_an_address_too_long_for_a_code_leaves_the_code_out(sheets, stop):
    place = replace(stop.place, visit_address="https://duskbook.example/" + "x" * 3000)

    assert draw_visit_sheets(replace(sheets, stops=(replace(stop, place=place),)))


def test_a_crew_without_stops_still_gets_the_page_of_its_day(sheets, pages_of):
    run = replace(sheets.day.run, stops=())
    day = replace(sheets.day, run=run)

    assert len(pages_of(draw_visit_sheets(replace(sheets, day=day, stops=())))) == 1


def test_the_diagram_tells_the_hours_of_the_yard(sheets, pages_of):
    words = pages_of(draw_visit_sheets(sheets))[0].extract_text()

    assert "4:30 pm – 5:00 pm" in words  # 20:30 UTC


def test_the_day_of_ten_stops_keeps_its_page(sheets, pages_of):
    stops = sheets.day.run.stops * 5
    day = replace(sheets.day, run=replace(sheets.day.run, stops=stops))

    assert len(pages_of(draw_visit_sheets(replace(sheets, day=day, stops=())))) == 1


def test_the_outline_names_every_stop(sheets):
    outline = pypdf.PdfReader(io.BytesIO(draw_visit_sheets(sheets))).outline

    assert [entry.title for entry in outline][1] == "Stop 1: 214 Fairview Lane"


def test_what_only_the_place_asks_for_has_a_box_of_its_own(sheets, stop, pages_of):
    asked = (
        Asked("supplier_name", "Bought from", "asked by OR", 200),
        Asked("method", "Equipment, where none of yours is named", "asked by OR", 300),
    )
    plain = pages_of(draw_visit_sheets(replace(sheets, stops=(stop,))))[1]

    pages = pages_of(draw_visit_sheets(replace(sheets, stops=(replace(stop, asked=asked),))))

    assert len(pages) == 2
    assert "Bought from (asked by OR)" in pages[1].extract_text()
    assert "asked by" not in plain.extract_text()
