"""Posting signs are as large as their rules ask, and so are their letters and circles.

One inch is 72 points of the page (ISO 32000-1, 8.3.2.3, from memory); type has the same points.
"""

import io
from datetime import UTC, datetime
from itertools import pairwise

import pdfplumber
import pytest
from PIL import Image
from pypdf import PdfReader

from services.sheets.layout import Imprint
from services.sheets.posting_sign import (
    Circle,
    Drawing,
    PostingSign,
    SignDoesNotFit,
    Words,
    draw_posting_sign,
)
from treatments.rules.records import SignCircle, design_of, posting_for

IMPRINT = Imprint("Evening Gardens", "", datetime(2026, 7, 6, 14, tzinfo=UTC))
FILLED = {
    "business": "Evening Gardens",
    "phone": "555-0100",
    "date": "July 6, 2026",
    "product": "Quiet Soap",
    "entry": "July 7, 2026",
    "time": "10:40 a.m.",
    "remove": "July 8, 2026",
}


def part_of(part):
    if isinstance(part, SignCircle):
        return Circle(float(part.circle_in), part.leash, part.lawn, part.figure)
    text = part.words % FILLED
    return Words(
        text.upper() if part.capitals else text,
        float(part.points) if part.points else None,
        float(part.letters_in) if part.letters_in else None,
    )


def sign_of(state, apart_ft=None, **changes):
    """Return the sign of a state as its table makes it up."""
    posting = posting_for(state)
    design = design_of(posting, apart_ft)
    told = {
        "imprint": IMPRINT,
        "title": state,
        "width_in": float(design.width_in),
        "height_in": float(design.height_in),
        "background": posting.background or "",
        "lettering": posting.lettering or "",
        "parts": tuple(map(part_of, design.parts)),
        "beside": ("Beside.",),
        "both_sides": design.both_sides,
    }
    return PostingSign(**{**told, **changes})


def page_of(sign):
    return pdfplumber.open(io.BytesIO(draw_posting_sign(sign))).pages[0]


def faces_of(page):
    """Return the grounds of the sign: filled boxes wider than three inches."""
    return [box for box in page.rects if box["width"] > 216 and box["height"] > 216]


def inches(points):
    return round(points / 72, 3)


def words_within(page, face):
    return page.within_bbox((face["x0"] - 1, face["top"] - 1, face["x1"] + 1, face["bottom"] + 1))


def lines_within(page, face):
    found = words_within(page, face).extract_text_lines(return_chars=True, x_tolerance=8)
    return {line["text"]: round(line["chars"][0]["size"], 1) for line in found}


@pytest.mark.parametrize(
    ("state", "width", "height", "faces"),
    [
        ("US-MI", 5, 4, 2),  # [MI-285-637] R 285.637.11: exactly, both sides alike
        ("US-IL", 5, 4, 1),  # [IL-415-65] 415 ILCS 65/3: exactly
        ("US-CT", 5, 4, 1),  # [CT-22A-66] 22a-66a-1(b)(7): exactly
    ],
)
def test_a_sign_is_exactly_as_large_as_its_rule_says(state, width, height, faces):
    found = faces_of(page_of(sign_of(state)))

    assert [(inches(f["width"]), inches(f["height"])) for f in found] == [(width, height)] * faces


def test_colorados_sign_is_no_smaller_than_its_rule_says():
    # [CO-35-10] 5 by 4 inches or more
    face = faces_of(page_of(sign_of("US-CO")))[0]

    assert inches(face["width"]) >= 5
    assert inches(face["height"]) >= 4


@pytest.mark.parametrize(
    ("state", "line", "points"),
    [
        ("US-MI", "CAUTION", 72),  # [MI-285-637]
        ("US-MI", "Pesticide Application", 30),
        ("US-MI", "Keep Off Until Dry", 30),
        ("US-MI", "Customer: Please Remove After 24 Hours", 11),
        ("US-CT", "PESTICIDE", 36),  # [CT-22A-66]
        ("US-CT", "APPLICATION", 36),
        ("US-CO", "WARNING", 60),  # [CO-35-10]
        ("US-CO", "PESTICIDES APPLIED", 24),
        ("US-CO", "Evening Gardens", 18),
    ],
)
def test_words_stand_in_the_type_that_the_rule_names(state, line, points):
    page = page_of(sign_of(state))

    assert lines_within(page, faces_of(page)[0])[line] == points


@pytest.mark.parametrize(
    ("state", "least"),
    [
        ("US-IL", 0.375),  # [IL-415-65] letters 3/8 in
        ("US-NJ", 0.5),  # [NJAC-7-30-9-13] letters 1/2 in
        ("US-MN", 0.5),  # [MN-18B] letters 1/2 in
    ],
)
def test_the_smallest_letter_is_as_high_as_the_rule_asks(state, least):
    # The H of the face is 0.654 of the type and its x 0.491, measured in the file of the face.
    page = page_of(sign_of(state))
    found = words_within(page, faces_of(page)[0]).chars

    heights = [c["size"] * (0.491 if c["text"].islower() else 0.654) for c in found]

    assert min(heights) / 72 >= least - 0.0005


@pytest.mark.parametrize("state", ["US-MI", "US-CT", "US-CO", "US-NJ"])
def test_the_circle_is_two_inches_from_edge_to_edge(state):
    # two inches in each of the four rules: [MI-285-637] [CT-22A-66] [CO-35-10] [NJAC-7-30-9-13]
    page = page_of(sign_of(state))
    ring = max(page.curves, key=lambda curve: curve["width"])

    stroke = 0.09 * 72

    assert inches(ring["width"] + stroke) == 2


@pytest.mark.parametrize("state", ["US-MI", "US-IL", "US-CT", "US-CO", "US-NJ", "US-MN", "US-WA"])
def test_no_letter_stands_beyond_the_edge_and_no_lines_overlap(state):
    page = page_of(sign_of(state))
    face = faces_of(page)[0]

    letters = words_within(page, face).chars
    assert len(letters) > 20
    assert len(letters) == len([char for char in page.chars if char["top"] < face["bottom"]])
    rows = sorted({(round(c["matrix"][5], 1), c["size"]) for c in letters if c["bottom"] < 400})
    pairs = pairwise(rows)
    assert all(upper - lower >= size * 0.654 for (lower, size), (upper, _size) in pairs)


def test_michigans_sign_is_green_on_white():
    # [MI-285-637] white, green lettering
    page = page_of(sign_of("US-MI"))
    letter = next(char for char in page.chars if char["text"] == "C" and char["size"] == 72)
    red, green, blue = letter["non_stroking_color"]

    assert faces_of(page)[0]["non_stroking_color"] in [(1,), (1, 1, 1), 1]
    assert green > 2 * max(red, blue)


def test_what_is_ours_stands_outside_where_the_rule_forbids_more_words():
    # [CT-22A-66] fixed text only, [MI-285-637] none without approval
    for state in ("US-CT", "US-MI"):
        page = page_of(sign_of(state))
        for face in faces_of(page):
            assert "Beside" not in words_within(page, face).extract_text()
        assert "Beside." in page.extract_text()


def test_an_inch_is_measured_beside_the_sign():
    page = page_of(sign_of("US-MI"))

    assert 72 in [round(line["width"], 2) for line in page.lines]


def test_the_corners_have_marks_to_cut_along():
    page = page_of(sign_of("US-IL"))
    face = faces_of(page)[0]

    across = [line for line in page.lines if round(line["top"], 1) == round(face["top"], 1)]
    assert len(across) == 2
    assert all(line["x1"] <= face["x0"] or line["x0"] >= face["x1"] for line in across)


def test_words_that_do_not_fit_are_refused_and_never_made_smaller():
    long = "Evening Gardens of the Lower Delaware River Valley and Its Hills " * 2

    with pytest.raises(SignDoesNotFit):
        draw_posting_sign(sign_of("US-MI", parts=(Words(long, 72),)))
    with pytest.raises(SignDoesNotFit):
        draw_posting_sign(sign_of("US-MI", parts=(Words("W" * 40, 72),)))


def test_the_same_sign_gives_the_same_bytes():
    assert draw_posting_sign(sign_of("US-NJ")) == draw_posting_sign(sign_of("US-NJ"))


def test_a_sign_is_dated_by_its_printing_and_the_same_sign_is_the_same_bytes():
    paper = draw_posting_sign(sign_of("US-NJ"))

    assert PdfReader(io.BytesIO(paper)).metadata.creation_date == IMPRINT.printed_at
    assert draw_posting_sign(sign_of("US-NJ")) == paper


def test_the_sign_for_workers_is_as_large_as_its_rule_asks_on_a_page_of_its_own_size():
    # [40CFR170] 14 by 16 inches, letters of an inch; the hand twice as high [WI-ATCP29-C]
    page = page_of(sign_of("US-WPS"))
    face = faces_of(page)[0]

    assert (round(face["width"]), round(face["height"])) == (14 * 72, 16 * 72)
    assert page.width >= face["width"]
    assert page.height >= face["height"]
    letters = [sign for sign in page.chars if sign["text"] in "DANGERPELIGO" and sign["size"] > 50]
    assert min(sign["size"] for sign in letters) * 0.654 >= 71.9


# [WAC-296-307-120] by how far apart they stand: 7/8 and 1/2 in letters with a circle of 3 in, 7/16
# and 1/4 in letters with one of 1 1/2 in; less than these does not satisfy the rule
SMALLER = [(50, 7 / 8, 1 / 2, 3), (25, 7 / 16, 1 / 4, 1.5)]


def red_circle(page):
    """Return the red disc of a sign, the widest shape that is filled red."""
    discs = [each for each in page.curves if each["fill"] and is_red(each["non_stroking_color"])]
    return max(discs, key=lambda each: each["width"])


def is_red(color):
    return len(color) == 3 and color[0] > 0.5 > max(color[1:])


@pytest.mark.parametrize(("apart_ft", "danger_in", "others_in", "circle_in"), SMALLER)
def test_the_smaller_signs_for_workers_have_their_letters_and_circle(
    apart_ft, danger_in, others_in, circle_in
):
    page = page_of(sign_of("US-WPS", apart_ft))
    words = words_within(page, faces_of(page)[0])
    # The H of the face is 0.654 of the type, measured in the file of the face.
    lines = words.extract_text_lines(return_chars=True, x_tolerance=8)
    heights = {each["text"]: inches(each["chars"][0]["size"] * 0.654) for each in lines}

    least = {name: heights.pop(name) for name in ("DANGER", "PELIGRO")}
    assert min(least.values()) >= danger_in - 0.0005
    assert min(heights.values()) >= others_in - 0.0005
    assert inches(red_circle(page)["width"]) >= circle_in


@pytest.mark.parametrize(("apart_ft", "_danger", "others_in", "_circle"), SMALLER)
def test_the_hand_on_a_smaller_sign_is_twice_as_high_as_its_smallest_letter(
    apart_ft, _danger, others_in, _circle
):
    # [WI-ATCP29-C] the hand stands on the left
    page = page_of(sign_of("US-WPS", apart_ft))
    disc = red_circle(page)
    middle = (disc["x0"] + disc["x1"]) / 2
    hand = [
        each
        for each in page.curves
        if each["fill"] and each["x1"] < middle and disc["x0"] < each["x0"]
    ]

    high = max(each["bottom"] for each in hand) - min(each["top"] for each in hand)
    assert inches(high) >= 2 * others_in


def test_new_york_has_its_words_in_letters_of_three_eighths():
    # [NY-ECL-33] 6 NYCRR 325.40
    page = page_of(sign_of("US-NY"))
    words = words_within(page, faces_of(page)[0])

    for told in ("PESTICIDE APPLICATION", "DO NOT ENTER", "DO NOT REMOVE SIGN", "24 HOURS"):
        assert told in " ".join(words.extract_text().split())
    assert min(sign["size"] for sign in words.chars) * 0.654 >= 26.9


def test_a_picture_is_drawn_as_wide_as_it_was_said_and_the_back_below_the_front():
    made = io.BytesIO()
    Image.new("RGB", (400, 200), "black").save(made, "PNG")
    parts = (Words("FRONT", 30), Drawing(2, made.getvalue()))
    page = page_of(sign_of("US-MI", parts=parts, back=(Words("BACK", 30),), both_sides=False))

    (picture,) = page.images
    assert (round(picture["width"], 1), round(picture["height"], 1)) == (144, 72)
    front, back = faces_of(page)
    assert "FRONT" in words_within(page, front).extract_text()
    assert "BACK" in words_within(page, back).extract_text()
