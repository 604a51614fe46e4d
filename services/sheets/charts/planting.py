"""A planting drawn to scale from its dimensions."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from reportlab.graphics.shapes import Drawing, Ellipse, Group
from reportlab.lib.colors import Color

from services.sheets.charts.pen import (
    HAIRLINE,
    INK,
    PLUM,
    QUIET,
    Figure,
    area,
    dot,
    lettering,
    shaded,
    stroke,
    tint,
)
from services.sheets.dates import number
from services.sheets.words import words_in

HEDGE, BED, TREE, LAWN, CONTAINER = "hedge", "bed", "tree", "lawn", "container"


@dataclass(frozen=True, slots=True)
class PlantingShape:
    """What is known of a planting's size, in feet, and what of it is treated.

    kind: hedge, bed, tree, lawn or container
    length_ft, width_ft: on the ground; of a tree, the spread of the crown
    faces: the sides of a hedge that are sprayed: front, back, top, ends
    """

    name: str
    kind: str
    length_ft: Decimal
    width_ft: Decimal
    height_ft: Decimal = Decimal(0)
    plants: int = 1
    faces: tuple[str, ...] = ()
    treated: bool = True


@dataclass(frozen=True, slots=True)
class Ground:
    """Where a drawing begins and how many points a foot has."""

    x: float
    y: float
    points_per_foot: float

    def points(self, feet: Decimal) -> float:
        return float(feet) * self.points_per_foot


def _fill(shape: PlantingShape) -> Color:
    return tint(PLUM, 0.14) if shape.treated else tint(HAIRLINE, 0.5)


def measured_feet(feet: Decimal, _: Callable[[str], str]) -> str:
    """Return a number of feet with its unit."""
    return _("%(feet)s ft") % {"feet": number(feet)}


def _across(ground: Ground, feet: Decimal, y: float, _: Callable[[str], str]) -> Group:
    """Draw a measured line below a shape."""
    left, right = ground.x, ground.x + ground.points(feet)
    group = Group(stroke((left, y), (right, y), QUIET, 0.5))
    for x in (left, right):
        group.add(stroke((x, y - 3), (x, y + 3), QUIET, 0.5))
    group.add(lettering(((left + right) / 2, y - 10), measured_feet(feet, _), 8.5, "middle"))
    return group


def _upright(ground: Ground, feet: Decimal, _: Callable[[str], str]) -> Group:
    """Draw a measured line left of a shape."""
    x, bottom, top = ground.x - 7, ground.y, ground.y + ground.points(feet)
    group = Group(stroke((x, bottom), (x, top), QUIET, 0.5))
    for y in (bottom, top):
        group.add(stroke((x - 3, y), (x + 3, y), QUIET, 0.5))
    group.add(lettering((x - 4, (bottom + top) / 2 - 3), measured_feet(feet, _), 8.5, "end"))
    return group


def _leaves(left: float, bottom: float, width: float, height: float) -> Group:
    """Strew short strokes over a face, always in the same places."""
    group = Group()
    across, up = int(width // 9), int(height // 8)
    for index in range(across * up):
        column, row = index % across, index // across
        x = left + 5 + column * 9 + (index * 7 % 5) - 2
        y = bottom + 4 + row * 8 + (index * 11 % 4) - 2
        group.add(stroke((x, y), (x + 2, y + 2.4), tint(QUIET, 0.7), 0.5))
    return group


def _depth(ground: Ground, shape: PlantingShape) -> tuple[float, float]:
    """Return how far the far side stands right and up of the near one, drawn half size."""
    points = ground.points(shape.width_ft) * 0.5
    return points * 0.8, points * 0.6


def _hedge(ground: Ground, shape: PlantingShape) -> Group:
    """Draw a hedge as a box: the front true to scale, the depth slanting away."""
    long, tall = ground.points(shape.length_ft), ground.points(shape.height_ft)
    right, up = _depth(ground, shape)
    x, y, top = ground.x, ground.y, ground.y + tall
    lid = [x, top, x + long, top, x + long + right, top + up, x + right, top + up]
    end = [x + long, y, x + long + right, y + up, x + long + right, top + up, x + long, top]
    group = Group(
        shaded(lid, tint(PLUM, 0.22) if "top" in shape.faces else tint(HAIRLINE, 0.4)),
        shaded(end, tint(PLUM, 0.3) if "ends" in shape.faces else tint(HAIRLINE, 0.7)),
        area((x, y), long, tall, _fill(shape) if "front" in shape.faces else None, INK, 0.9),
        _leaves(x, y, long, tall),
    )
    for start, stop in _edges(lid, end):
        group.add(stroke(start, stop, INK, 0.9))
    return group


def _edges(lid: list[float], end: list[float]) -> list[tuple[tuple[float, float], ...]]:
    """Return the edges of the box behind its front."""
    near_left, near_right = (lid[0], lid[1]), (lid[2], lid[3])
    far_right, far_left = (lid[4], lid[5]), (lid[6], lid[7])
    low_right, low_far = (end[0], end[1]), (end[2], end[3])
    return [
        (near_left, far_left),
        (far_left, far_right),
        (near_right, far_right),
        (low_right, low_far),
        (low_far, far_right),
    ]


def faces_in_words(shape: PlantingShape, _: Callable[[str], str]) -> str:
    """Return which faces are sprayed, in words."""
    names = {"front": _("front"), "back": _("back"), "top": _("top"), "ends": _("short ends")}
    return ", ".join(names.get(face, face) for face in shape.faces)


def _bed(ground: Ground, shape: PlantingShape) -> Group:
    """Draw a bed or lawn from above, a mark a plant."""
    long, deep = ground.points(shape.length_ft), ground.points(shape.width_ft)
    group = Group(area((ground.x, ground.y), long, deep, _fill(shape), INK, 0.9))
    if shape.kind == LAWN or shape.plants > 60:
        group.add(_leaves(ground.x, ground.y, long, deep))
        return group
    radius = min(2.6, 0.3 * (long * deep / shape.plants) ** 0.5)
    for x, y in _plant_places(shape.plants, long, deep):
        group.add(dot((ground.x + x, ground.y + y), radius, filled=False))
    return group


def _plant_places(plants: int, long: float, deep: float) -> list[tuple[float, float]]:
    """Spread a number of plants evenly over a rectangle."""
    rows = max(1, round((plants * deep / max(long, 1)) ** 0.5))
    columns = -(-plants // rows)
    places = [(index % columns, index // columns) for index in range(plants)]
    return [((c + 0.5) * long / columns, (r + 0.5) * deep / rows) for c, r in places]


def _tree(ground: Ground, shape: PlantingShape) -> Group:
    """Draw a tree or container from the side: crown and trunk."""
    wide, tall = ground.points(shape.length_ft), ground.points(shape.height_ft)
    crown = tall * 0.72
    centre = (ground.x + wide / 2, ground.y + tall - crown / 2)
    trunk = max(wide * 0.07, 2)
    shape_of_crown = Ellipse(
        *centre, wide / 2, crown / 2, fillColor=_fill(shape), strokeColor=INK, strokeWidth=0.9
    )
    inside = (centre[0] - wide * 0.32, centre[1] - crown * 0.3)
    return Group(
        area((centre[0] - trunk / 2, ground.y), trunk, tall - crown + 2, tint(QUIET, 0.5), INK),
        shape_of_crown,
        _leaves(*inside, wide * 0.64, crown * 0.6),
    )


def _seen_from_side(shape: PlantingShape) -> bool:
    return shape.kind in {HEDGE, TREE, CONTAINER} and shape.height_ft > 0


def rise_ft(shape: PlantingShape) -> float:
    """Return how many feet a shape stands up on the paper."""
    if not _seen_from_side(shape):
        return float(shape.width_ft)
    slant = 0.3 * float(shape.width_ft) if _is_box(shape) else 0.0
    return float(shape.height_ft) + slant


def run_ft(shape: PlantingShape) -> float:
    """Return how many feet a shape is wide on the paper."""
    slant = 0.4 * float(shape.width_ft) if _is_box(shape) else 0.0
    return float(shape.length_ft) + slant


def _is_box(shape: PlantingShape) -> bool:
    return shape.kind == HEDGE and shape.height_ft > 0


def body(ground: Ground, shape: PlantingShape) -> Group:
    """Draw a planting without its measures."""
    if _is_box(shape):
        return _hedge(ground, shape)
    if _seen_from_side(shape):
        return _tree(ground, shape)
    return _bed(ground, shape)


def described(shape: PlantingShape, _: Callable[[str], str]) -> str:
    """Return a planting's measures and sprayed faces as a sentence."""
    size = _("%(name)s: %(length)s ft long, %(width)s ft wide, %(height)s ft high") % {
        "name": shape.name,
        "length": number(shape.length_ft),
        "width": number(shape.width_ft),
        "height": number(shape.height_ft),
    }
    if not shape.faces:
        return size + "."
    return _("%(size)s; sprayed: %(faces)s.") % {
        "size": size,
        "faces": faces_in_words(shape, _),
    }


def planting_figure(
    shape: PlantingShape, language: str = "en", width: float = 240, height: float = 130
) -> Figure:
    """Draw one planting as large as the room in points allows, with its measures."""
    _ = words_in(language)
    scale = min((width - 56) / max(run_ft(shape), 0.1), (height - 40) / max(rise_ft(shape), 0.1))
    drawing = Drawing(width, rise_ft(shape) * scale + (40 if shape.faces else 26))
    ground = Ground(30, 22, scale)
    drawing.add(body(ground, shape))
    drawing.add(_across(ground, shape.length_ft, 13, _))
    drawing.add(_upright(ground, shape.height_ft if _seen_from_side(shape) else shape.width_ft, _))
    if _is_box(shape):
        drawing.add(_slant(ground, shape, _))
    sprayed = lettering((30, drawing.height - 9), faces_in_words(shape, _), 8.5, colour=PLUM)
    drawing.add(sprayed)
    title = _("Drawing of %(planting)s") % {"planting": shape.name}
    return Figure(drawing, title, described(shape, _))


def _slant(ground: Ground, shape: PlantingShape, _: Callable[[str], str]) -> Group:
    """Write the depth of a hedge beside its slanting edge."""
    right, up = _depth(ground, shape)
    at = (ground.x + ground.points(shape.length_ft) + right / 2 + 5, ground.y + up / 2 - 8)
    return Group(lettering(at, measured_feet(shape.width_ft, _), 8.5))
