"""Areas of beds, lawns and hedge faces, in square feet from lengths in feet."""

from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import floor

from treatments.rules.findings import gettext_noop
from treatments.rules.units import AmountUnusable, Number, as_decimal, exact, positive

# Beyond the 28 digits that any result keeps.  The 3.14 of training texts is 0.05 % low.
PI = Fraction("3.14159265358979323846264338327950288")


class Face(StrEnum):
    """A face of a hedge or bed that the spray is to cover."""

    GROUND = "ground"
    TOP = "top"
    NEAR_SIDE = "near side"
    FAR_SIDE = "far side"
    NEAR_END = "near end"
    FAR_END = "far end"


def treated_area_sq_ft(
    length_ft: Number, width_ft: Number, height_ft: Number, faces: Collection[Face]
) -> Decimal:
    """Return the area of the faces treated, in square feet.

    length_ft, width_ft, height_ft: of the hedge or bed, in feet; a bed's height may be zero
    faces: the faces that are sprayed; a bed or lawn is {Face.GROUND}

    Raise AmountUnusable when no face is named or the faces have no area.  Length times height
    for a side, length times width for top and ground: plain geometry; common practice for
    hedges.

    >>> treated_area_sq_ft(120, 3, 6, {Face.NEAR_SIDE, Face.FAR_SIDE, Face.TOP})
    Decimal('1800')
    """
    areas = _areas_of_faces(exact(length_ft), exact(width_ft), exact(height_ft))
    return as_decimal(positive("The area treated", sum(areas[face] for face in set(faces))))


def _areas_of_faces(length: Fraction, width: Fraction, height: Fraction) -> dict[Face, Fraction]:
    if min(length, width, height) < 0:
        raise AmountUnusable(gettext_noop("Length, width and height cannot be less than zero."))
    return {
        Face.GROUND: length * width,
        Face.TOP: length * width,
        Face.NEAR_SIDE: length * height,
        Face.FAR_SIDE: length * height,
        Face.NEAR_END: width * height,
        Face.FAR_END: width * height,
    }


def rectangle_sq_ft(length_ft: Number, width_ft: Number) -> Decimal:
    """Return the area of a rectangle, in square feet, from its sides in feet [OSU-OKC-2013].

    >>> rectangle_sq_ft(60, 25)
    Decimal('1500')
    """
    return as_decimal(positive("The length", length_ft) * positive("The width", width_ft))


def triangle_sq_ft(base_ft: Number, height_ft: Number) -> Decimal:
    """Return the area of a triangle, in square feet: half of base times height [OSU-OKC-2013].

    base_ft, height_ft: in feet, at right angles to each other

    >>> triangle_sq_ft(30, 26)
    Decimal('390')
    """
    return as_decimal(positive("The base", base_ft) * positive("The height", height_ft) / 2)


def circle_sq_ft(diameter_ft: Number) -> Decimal:
    """Return the area of a circle, in square feet, from its diameter in feet [UTK-PSEP].

    >>> round(circle_sq_ft(20), 3)
    Decimal('314.159')
    """
    return as_decimal(PI * positive("The diameter", diameter_ft) ** 2 / 4)


def trapezoid_sq_ft(side_ft: Number, other_side_ft: Number, height_ft: Number) -> Decimal:
    """Return the area between two parallel sides, in square feet [UTK-PSEP].

    side_ft, other_side_ft: the parallel sides, in feet
    height_ft: the distance between them, in feet

    >>> trapezoid_sq_ft(40, 60, 25)
    Decimal('1250')
    """
    sides = positive("A side", side_ft) + positive("A side", other_side_ft)
    return as_decimal(sides * positive("The height", height_ft) / 2)


def oval_sq_ft(length_ft: Number, width_ft: Number) -> Decimal:
    """Return the area of an oval, in square feet, from its axes in feet.

    A circle's area when both are the same [UTK-PSEP]; the factor 0.8 of some texts is 1.9 % high.

    >>> round(oval_sq_ft(40, 20), 2)
    Decimal('628.32')
    """
    return as_decimal(PI * positive("The length", length_ft) * positive("The width", width_ft) / 4)


def offsets_sq_ft(offsets_ft: Sequence[Number], spacing_ft: Number) -> Decimal:
    """Return the area of an irregular shape from offsets along its axis, in square feet.

    offsets_ft: widths at right angles to the longest axis, between its two ends, in feet
    spacing_ft: the distance between one offset and the next, in feet

    The sum of the offsets times their spacing, the shape coming to a point at both ends
    [LSU-LAWN-AREAS].  Where an end is flat, give half of its width as the first or last offset.

    >>> offsets_sq_ft([12, 18, 22, 20, 14], 10)
    Decimal('860')
    """
    widths = sum((exact(width) for width in offsets_ft), Fraction(0))
    return as_decimal(positive("The sum of offsets", widths) * positive("The spacing", spacing_ft))


def radii_sq_ft(radii_ft: Sequence[Number]) -> Decimal:
    """Return the area of a rounded shape from evenly spread radii, in square feet.

    radii_ft: distances from one centre to the edge, at equal angles, in feet

    Pi times the mean of the squares; the square of the mean, as some texts have it, is too
    small.  Common practice.

    >>> radii_sq_ft([10, 10, 10]) == circle_sq_ft(20)
    True
    """
    squares = [positive("A radius", radius) ** 2 for radius in radii_ft]
    if not squares:
        raise AmountUnusable(gettext_noop("Measure at least one radius."))
    return as_decimal(PI * sum(squares) / len(squares))


def composite_sq_ft(parts: Iterable[Number], less: Iterable[Number] = ()) -> Decimal:
    """Return the area of several parts together, in square feet [LSU-LAWN-AREAS].

    parts: areas that are treated, in square feet
    less: areas within them that are not, such as buildings or paving, in square feet

    Raise AmountUnusable when nothing is left.

    >>> composite_sq_ft([450, 150], less=[100])
    Decimal('500')
    """
    whole = sum((exact(part) for part in parts), Fraction(0))
    left = whole - sum((exact(part) for part in less), Fraction(0))
    return as_decimal(positive("The area that is left", left))


def area_for_dosing_sq_ft(area_sq_ft: Number) -> Decimal:
    """Return an area in whole square feet, rounded down.

    area_sq_ft: as measured or computed, in square feet

    An overstated area overdoses the ground that is really sprayed.  Common practice.

    >>> area_for_dosing_sq_ft(Decimal("1215.75"))
    Decimal('1215')
    """
    return Decimal(floor(positive("The area", area_sq_ft)))
