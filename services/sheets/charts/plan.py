"""A property's plantings in a row, to one scale."""

from collections.abc import Callable
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Group

from services.sheets.charts.pen import HAIRLINE, QUIET, Figure, lettering, stroke
from services.sheets.charts.planting import (
    Ground,
    PlantingShape,
    body,
    described,
    measured_feet,
    rise_ft,
    run_ft,
)
from services.sheets.typefaces import SANS, SANS_BOLD
from services.sheets.words import words_in

GAP, NAME_ROOM, NUMBER_ROOM = 12.0, 66.0, 18.0


@dataclass(frozen=True, slots=True)
class _Row:
    """The plantings side by side, in the room there is for them."""

    shapes: tuple[PlantingShape, ...]
    width: float
    height: float

    def is_numbered(self) -> bool:
        """Say whether the names have no room, so that numbers stand for them."""
        return len(self.shapes) * (NAME_ROOM + GAP) > self.width

    def slot(self, shape: PlantingShape, scale: float) -> float:
        """Return the width a planting takes, with room for its name or number."""
        least = min(NUMBER_ROOM, self.width / len(self.shapes) - GAP)
        room = least if self.is_numbered() else NAME_ROOM
        return max(run_ft(shape) * scale, room) + GAP

    def scale(self) -> float:
        """Return the most points a foot at which the whole row has room."""
        rise = max([rise_ft(shape) for shape in self.shapes] + [0.1])
        scale = (self.height - 36) / rise
        while sum(self.slot(shape, scale) for shape in self.shapes) > self.width and scale > 0.05:
            scale *= 0.96
        return scale


def plan_figure(
    shapes: tuple[PlantingShape, ...],
    language: str = "en",
    width: float = 525,
    height: float = 130,
) -> Figure:
    """Draw a property's plantings in a row, all to one scale, what is treated in plum.

    Where the names have no room, numbers stand for them in the order of the plantings.
    """
    _ = words_in(language)
    row = _Row(shapes, width, height)
    scale, x = row.scale(), GAP / 2
    rise = max([rise_ft(shape) * scale for shape in shapes] + [1.0])
    drawing = Drawing(width, rise + 36)
    for place, shape in enumerate(shapes, start=1):
        ground = Ground(x, 30, scale)
        name = str(place) if row.is_numbered() else shape.name
        drawing.add(body(ground, shape))
        drawing.add(_named(ground, shape, name, row.slot(shape, scale) - 5, _))
        x += row.slot(shape, scale)
    drawing.add(stroke((0, 30), (width, 30), HAIRLINE, 0.6))
    title = _("Plan of the plantings, in a row and to one scale")
    return Figure(drawing, title, " ".join(described(shape, _) for shape in shapes))


def _named(
    ground: Ground, shape: PlantingShape, name: str, room: float, _: Callable[[str], str]
) -> Group:
    face = SANS_BOLD if shape.treated else SANS
    length = measured_feet(shape.length_ft, _)
    return Group(
        lettering((ground.x, 19), name, 8.5, face=face, room=room),
        lettering((ground.x, 8), length, 8.5, colour=QUIET, room=room),
    )
