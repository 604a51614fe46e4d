"""The colours of the pages stand out enough by day and at dusk, as WCAG 2.2 counts it [WCAG22]."""

import re
from pathlib import Path

import pytest

TOKENS = Path(__file__).resolve().parents[3] / "services/project/static/style/tokens.css"
COLOUR = re.compile(r"--(\w+): #([0-9a-f]{6});")

# [WCAG22] success criteria 1.4.3 (text) and 1.4.11 (what can be typed in)
LEAST_FOR_TEXT = 4.5
LEAST_FOR_EDGES = 3.0


def palettes():
    """Return the colours of each block of the tokens: day, the system's dusk, dusk by choice."""
    return [dict(COLOUR.findall(block)) for block in TOKENS.read_text().split(":root")[1:]]


def luminance(colour):
    """Return the relative luminance of an sRGB colour [WCAG22]."""
    parts = [int(colour[start : start + 2], 16) / 255 for start in (0, 2, 4)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Return the contrast ratio of two colours [WCAG22]."""
    darker, lighter = sorted([luminance(one), luminance(other)])
    return (lighter + 0.05) / (darker + 0.05)


def test_black_on_white_is_twenty_one_to_one():
    # [WCAG22] "Contrast ratios can range from 1 to 21"
    assert contrast("000000", "ffffff") == pytest.approx(21)


@pytest.mark.parametrize("palette", palettes(), ids=["day", "dusk", "dusk-chosen"])
@pytest.mark.parametrize("ground", ["paper", "wash"])
@pytest.mark.parametrize("text", ["ink", "quiet", "plum", "ember"])
def test_text_can_be_read_on_both_grounds(palette, ground, text):
    assert contrast(palette[text], palette[ground]) >= LEAST_FOR_TEXT


@pytest.mark.parametrize("palette", palettes(), ids=["day", "dusk", "dusk-chosen"])
def test_the_edge_of_a_field_can_be_seen(palette):
    assert contrast(palette["edge"], palette["paper"]) >= LEAST_FOR_EDGES


def test_dusk_is_the_same_by_system_and_by_choice():
    _day, by_system, by_choice = palettes()

    assert by_system == by_choice
