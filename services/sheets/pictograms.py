"""The figures of posting signs: walkers crossed out in a circle, a raised hand and a stern face.

Our own drawing after the words of the rules; no rule's figure was copied.
"""

from dataclasses import dataclass

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

RING = 0.09  # of the outer radius; our own choice
CIRCLE = "Circle: an adult, a child and a dog, crossed out."
HAND = "Red circle: a raised hand on the left, a stern face on the right."
RED, WHITE = HexColor("#c8102e"), HexColor("#ffffff")


@dataclass(frozen=True, slots=True)
class Colors:
    """The two colors of a sign."""

    ground: Color
    mark: Color


def draw_circle(
    canvas: Canvas,
    middle: tuple[float, float],
    radius: float,
    colors: Colors,
    leash: bool = False,
    lawn: bool = False,
) -> None:
    """Draw the circle; its outer edge is as far from the middle as the radius, in points."""
    canvas.saveState()
    canvas.translate(*middle)
    canvas.scale(radius, radius)
    canvas.setFillColor(colors.mark)
    canvas.setStrokeColor(colors.mark)
    canvas.setLineCap(1)
    draw_person(canvas, -0.34, 1.0)
    draw_person(canvas, 0.08, 0.62)
    draw_dog(canvas, 0.3)
    if leash:
        draw_leash(canvas)
    if lawn:
        draw_lawn(canvas)
    draw_bar(canvas, colors)
    canvas.setLineWidth(RING)
    canvas.circle(0, 0, 1 - RING / 2, stroke=1, fill=0)
    canvas.restoreState()


def draw_person(canvas: Canvas, x: float, scale: float) -> None:
    """Draw somebody who stands on the ground line, taller or smaller."""
    foot = -0.5
    canvas.circle(x, foot + 0.98 * scale, 0.12 * scale, stroke=0, fill=1)
    canvas.roundRect(
        x - 0.13 * scale, foot + 0.42 * scale, 0.26 * scale, 0.4 * scale, 0.08 * scale, 0, 1
    )
    canvas.setLineWidth(0.09 * scale)
    for side in (-1, 1):
        canvas.line(x + side * 0.07 * scale, foot + 0.45 * scale, x + side * 0.07 * scale, foot)
        canvas.line(
            x + side * 0.13 * scale, foot + 0.75 * scale, x + side * 0.2 * scale, foot + 0.4 * scale
        )


def draw_dog(canvas: Canvas, x: float) -> None:
    """Draw a dog that stands on the ground line and looks to the right."""
    foot = -0.5
    canvas.roundRect(x, foot + 0.16, 0.3, 0.14, 0.05, 0, 1)
    canvas.roundRect(x + 0.24, foot + 0.26, 0.16, 0.12, 0.04, 0, 1)
    canvas.setLineWidth(0.05)
    for leg in (0.04, 0.12, 0.2, 0.27):
        canvas.line(x + leg, foot + 0.18, x + leg, foot)
    canvas.line(x + 0.02, foot + 0.28, x - 0.05, foot + 0.38)
    canvas.line(x + 0.27, foot + 0.36, x + 0.25, foot + 0.43)


def draw_leash(canvas: Canvas) -> None:
    """Draw the leash from the child's hand to the dog's neck."""
    canvas.setLineWidth(0.025)
    canvas.line(0.2, -0.24, 0.54, -0.2)


def draw_lawn(canvas: Canvas) -> None:
    """Draw a lawn under their feet."""
    canvas.setLineWidth(0.03)
    canvas.line(-0.7, -0.53, 0.7, -0.53)
    for blade in range(-13, 14):
        canvas.line(blade * 0.05, -0.53, blade * 0.05 + 0.02, -0.46)


def draw_bar(canvas: Canvas, colors: Colors) -> None:
    """Draw the bar across, set off from what it crosses."""
    reach = (1 - RING) * 0.7071
    canvas.setStrokeColor(colors.ground)
    canvas.setLineWidth(RING * 1.7)
    canvas.line(-reach, reach, reach, -reach)
    canvas.setStrokeColor(colors.mark)
    canvas.setLineWidth(RING)
    canvas.line(-reach, reach, reach, -reach)


def draw_hand_and_face(canvas: Canvas, middle: tuple[float, float], radius: float) -> None:
    """Draw a raised hand and a stern face, white on a red disc of a radius in points.

    The hand is 1.1 of the radius high, the face a little less.
    """
    canvas.saveState()
    canvas.translate(*middle)
    canvas.scale(radius, radius)
    canvas.setFillColor(RED)
    canvas.circle(0, 0, 1, stroke=0, fill=1)
    canvas.setFillColor(WHITE)
    draw_hand(canvas, -0.5)
    draw_face_of(canvas, 0.44)
    canvas.restoreState()


def draw_hand(canvas: Canvas, x: float) -> None:
    """Draw an open hand, the palm to who looks at it, from -0.55 to 0.55."""
    canvas.roundRect(x - 0.24, -0.55, 0.44, 0.56, 0.12, 0, 1)
    for place, top in enumerate((0.4, 0.55, 0.5, 0.36)):
        canvas.roundRect(x - 0.24 + place * 0.115, -0.2, 0.095, top + 0.2, 0.045, 0, 1)
    canvas.saveState()
    canvas.translate(x + 0.14, -0.36)
    canvas.rotate(-42)
    canvas.roundRect(-0.05, 0, 0.11, 0.44, 0.05, 0, 1)
    canvas.restoreState()


def draw_face_of(canvas: Canvas, x: float) -> None:
    """Draw a stern face, a little smaller than the hand, with frowning brows."""
    canvas.ellipse(x - 0.34, -0.5, x + 0.34, 0.5, stroke=0, fill=1)
    canvas.setStrokeColor(RED)
    canvas.setFillColor(RED)
    canvas.setLineCap(1)
    canvas.setLineWidth(0.06)
    for side in (-1, 1):
        canvas.line(x + side * 0.24, 0.22, x + side * 0.06, 0.12)
        canvas.circle(x + side * 0.14, 0.04, 0.045, stroke=0, fill=1)
    canvas.line(x, 0.02, x, -0.12)
    canvas.line(x - 0.16, -0.28, x + 0.16, -0.28)
