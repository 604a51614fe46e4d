"""Ink, lines and lettering of every drawing."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, Rect, String
from reportlab.lib.colors import Color, HexColor

from services.sheets.text import fitted
from services.sheets.typefaces import SANS

INK = HexColor("#1f1a24")
HAIRLINE = HexColor("#d9d2c7")
QUIET = HexColor("#6b6470")
PLUM = HexColor("#5b2a5e")
EMBER = HexColor("#9c3b17")
PAPER = HexColor("#ffffff")

NARROW = 400.0  # points; what is drawn below it is for a phone

NAMED = {
    "ink": INK,
    "hairline": HAIRLINE,
    "quiet": QUIET,
    "plum": PLUM,
    "ember": EMBER,
    "paper": PAPER,
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with what a reader who cannot see it is told."""

    drawing: Drawing
    title: str
    description: str


def tint(colour: Color, strength: float) -> Color:
    """Return a colour thinned to a strength between 0 and 1."""
    return Color(colour.red, colour.green, colour.blue, alpha=strength)


def stroke(
    start: tuple[float, float],
    end: tuple[float, float],
    colour: Color = INK,
    width: float = 0.6,
    dash: list[float] | None = None,
) -> Line:
    """Return a straight line between two points."""
    return Line(*start, *end, strokeColor=colour, strokeWidth=width, strokeDashArray=dash)


def lettering(
    at: tuple[float, float],
    text: object,
    size: float = 8,
    anchor: str = "start",
    colour: Color = INK,
    face: str = SANS,
    room: float = 400,
) -> String:
    """Return one line of text, cut to the room there is for it."""
    line = fitted(text, face, size, room)
    return String(*at, line, fontName=face, fontSize=size, textAnchor=anchor, fillColor=colour)


def area(
    corner: tuple[float, float],
    width: float,
    height: float,
    fill: Color | None = None,
    outline: Color | None = None,
    line_width: float = 0.6,
    dash: Sequence[float] | None = None,
) -> Rect:
    """Return a rectangle from its lower left corner."""
    return Rect(
        *corner,
        width,
        height,
        fillColor=fill,
        strokeColor=outline,
        strokeWidth=line_width,
        strokeDashArray=dash,
    )


def dot(centre: tuple[float, float], radius: float, filled: bool, colour: Color = INK) -> Circle:
    """Return a round mark, filled or open."""
    fill = colour if filled else PAPER
    return Circle(*centre, radius, fillColor=fill, strokeColor=colour, strokeWidth=0.9)


def shaded(points: list[float], fill: Color) -> Polygon:
    """Return a filled shape without an outline, from x, y, x, y ..."""
    return Polygon(points, fillColor=fill, strokeColor=None)
