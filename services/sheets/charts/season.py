"""A planting's season: counts above, treatments below by product and group, bloom as a band."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from reportlab.graphics.shapes import Drawing, Group, PolyLine, String
from reportlab.lib.colors import Color
from reportlab.pdfbase.pdfmetrics import stringWidth

from services.sheets.charts.pen import (
    EMBER,
    HAIRLINE,
    INK,
    NARROW,
    PAPER,
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
from services.sheets.dates import long_day, number, short_day
from services.sheets.typefaces import SANS, SANS_BOLD, SANS_ITALIC
from services.sheets.words import words_in

LEFT, RIGHT, TOP, ROW, AXIS = 104.0, 10.0, 30.0, 17.0, 20.0
NARROW_LEFT, NARROW_ROW = 22.0, 26.0  # where it is narrow, a product's name stands above its marks
SHIFT, NEAR = 6.0, 3.0  # how far a name is moved at a time, and keeps from a curve
BAND_TIMES = 2.0  # a band higher than this runs out at the top, or the counts could not be read


@dataclass(frozen=True, slots=True)
class Count:
    """What was counted on a day."""

    day: date
    value: Decimal


@dataclass(frozen=True, slots=True)
class Treatment:
    """A product that was applied, or is planned, on a day."""

    day: date
    product: str
    group: str = ""
    applied: bool = True


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of days that is shaded: bloom, or the days of keeping off."""

    first: date
    last: date
    name: str


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected on a day, between the least and the most."""

    day: date
    least: Decimal
    middle: Decimal
    most: Decimal


@dataclass(frozen=True, slots=True)
class Season:
    """What is drawn of one planting between two days."""

    planting: str
    first: date
    last: date
    unit: str
    counts: tuple[Count, ...]
    treatments: tuple[Treatment, ...] = ()
    spans: tuple[Span, ...] = ()
    expected: tuple[Expected, ...] = ()
    otherwise: tuple[Expected, ...] = ()  # were one thing done in another way; drawn beside it
    threshold: Decimal | None = None


@dataclass(frozen=True, slots=True)
class _Field:
    """Where days and counts stand on the drawing."""

    season: Season
    width: float
    bottom: float
    top: float
    ceiling: float

    @property
    def is_narrow(self) -> bool:
        return self.width < NARROW

    @property
    def left(self) -> float:
        return NARROW_LEFT if self.is_narrow else LEFT

    def x(self, day: date) -> float:
        days = max((self.season.last - self.season.first).days, 1)
        part = (day - self.season.first).days / days
        return self.left + min(max(part, 0.0), 1.0) * (self.width - self.left - RIGHT)

    def y(self, value: Decimal) -> float:
        part = min(float(value) / self.ceiling, 1.0)  # what runs out at the top is told in words
        return self.bottom + part * (self.top - self.bottom)


def _products(season: Season) -> list[str]:
    return list(dict.fromkeys(treatment.product for treatment in season.treatments))


def _step(highest: float) -> float:
    """Return a round step that divides the height into five parts at most."""
    magnitude = 10.0 ** (len(str(int(highest))) - 2)
    steps = (magnitude * factor for factor in (1, 2, 5, 10, 20, 50))
    return next(step for step in steps if highest / step <= 5)


def _highest(season: Season) -> float:
    values = [count.value for count in season.counts]
    values += [expected.middle for expected in (*season.expected, *season.otherwise)]
    values += [season.threshold] if season.threshold is not None else []
    highest = max([float(value) for value in values] + [1.0])
    most = max((float(expected.most) for expected in season.expected), default=0.0)
    return max(highest, min(most, BAND_TIMES * highest))


def _row(width: float) -> float:
    return NARROW_ROW if width < NARROW else ROW


def _field(season: Season, width: float, height: float) -> tuple[_Field, float]:
    step = _step(_highest(season))
    ceiling = step * (int(_highest(season) / step) + 1)
    bottom = AXIS + _row(width) * len(_products(season)) + 6
    return _Field(season, width, bottom, height - TOP, ceiling), step


def _scale(field: _Field, step: float) -> Group:
    group = Group()
    for index in range(int(field.ceiling / step) + 1):
        value = Decimal(str(index * step))
        y = field.y(value)
        group.add(stroke((field.left, y), (field.width - RIGHT, y), HAIRLINE, 0.5))
        group.add(lettering((field.left - 5, y - 2.6), number(value), 7.5, "end", QUIET))
    return group


def _ticks(field: _Field) -> list[date]:
    """Return Mondays in a short season, first days of months in a long one, as room allows."""
    first, days = field.season.first, (field.season.last - field.season.first).days
    all_days = [first + timedelta(days=index) for index in range(days + 1)]
    if days > 100:
        firsts = [day for day in all_days if day.day == 1]
        return firsts[:: 1 + len(firsts) // (6 if field.is_narrow else 16)]
    mondays = [day for day in all_days if day.weekday() == 0]
    return mondays[:: 1 + len(mondays) // (6 if field.is_narrow else 8)]


def _days(field: _Field, language: str) -> Group:
    group = Group()
    for day in _ticks(field):
        x = field.x(day)
        group.add(stroke((x, AXIS), (x, field.bottom), HAIRLINE, 0.5))
        name = short_day(day, language).split(" ", 1)[1]
        group.add(lettering((x, 8), name, 7.5, "middle", QUIET))
    group.add(stroke((field.left, field.bottom), (field.width - RIGHT, field.bottom), INK, 0.8))
    group.add(stroke((field.left, AXIS), (field.width - RIGHT, AXIS), HAIRLINE, 0.5))
    return group


def _spans(field: _Field) -> Group:
    group = Group()
    for span in field.season.spans:
        left, right = field.x(span.first), field.x(span.last)
        group.add(area((left, AXIS), right - left, field.top - AXIS, tint(PLUM, 0.12)))
        at = (left + 3, field.top + 4)
        group.add(lettering(at, span.name, 7.5, colour=PLUM, face=SANS_ITALIC))
    return group


def _expected(field: _Field, _: Callable[[str], str]) -> Group:
    group, expected = Group(), field.season.expected
    if len(expected) < 2:
        return group
    upper = [(field.x(point.day), field.y(point.most)) for point in expected]
    lower = [(field.x(point.day), field.y(point.least)) for point in reversed(expected)]
    group.add(shaded([place for pair in upper + lower for place in pair], tint(QUIET, 0.18)))
    group.add(_line(field, expected, QUIET, [3, 2]))
    otherwise = field.season.otherwise
    if len(otherwise) < 2:
        return group
    group.add(_line(field, otherwise, PLUM, [1, 2]))
    is_above = otherwise[-1].middle >= expected[-1].middle
    group.add(_named(field, expected[-1], _("as planned"), QUIET, above=not is_above))
    group.add(_named(field, otherwise[-1], _("otherwise"), PLUM, above=is_above))
    return group


def _line(
    field: _Field, points: tuple[Expected, ...], colour: Color, dashes: list[float]
) -> PolyLine:
    flat = [place for point in points for place in (field.x(point.day), field.y(point.middle))]
    return PolyLine(flat, strokeColor=colour, strokeWidth=1.1, strokeDashArray=dashes)


def _named(field: _Field, point: Expected, name: str, colour: Color, *, above: bool) -> Group:
    at = (field.x(point.day) - 3, field.y(point.middle) + (4 if above else -9))
    return lettering(at, name, 7.5, "end", colour, SANS_ITALIC)


def _counts(field: _Field) -> Group:
    group = Group()
    points = [(field.x(count.day), field.y(count.value)) for count in field.season.counts]
    if len(points) > 1:
        flat = [place for point in points for place in point]
        group.add(PolyLine(flat, strokeColor=INK, strokeWidth=1.2))
    for point in points:
        group.add(dot(point, 2.4, filled=True))
    return group


def _threshold(field: _Field, _: Callable[[str], str]) -> Group:
    group, threshold = Group(), field.season.threshold
    if threshold is None:
        return group
    y = field.y(threshold)
    group.add(stroke((field.left, y), (field.width - RIGHT, y), EMBER, 0.9, [4, 2]))
    words = _("act at %(count)s") % {"count": number(threshold)}
    at = _beside_curves(field, y, stringWidth(words, SANS, 7.5))
    group.add(lettering(at, words, 7.5, "end", EMBER))
    return group


def _beside_curves(field: _Field, y: float, width: float) -> tuple[float, float]:
    """Return where a name of a level ends: above or below it, as far right as no curve is there."""
    season, end = field.season, field.width - RIGHT
    counted = [(field.x(each.day), field.y(each.value)) for each in season.counts]
    curves = [counted] + [
        [(field.x(each.day), field.y(each.middle)) for each in expected]
        for expected in (season.expected, season.otherwise)
    ]
    steps = 1 + int(max(end - field.left - width, 0) // SHIFT)
    places = [
        (right, base)
        for right in (end - SHIFT * step for step in range(steps))
        for base in (y + 3, y - 9)
        if base > field.bottom + 2
    ]
    free = (at for at in places if not any(_is_crossed(at, width, curve) for curve in curves))
    return next(free, (end, y + 3))


def _is_crossed(at: tuple[float, float], width: float, curve: list[tuple[float, float]]) -> bool:
    """Say whether a curve passes through a word that ends at a place."""
    left, right = at[0] - width - NEAR, at[0] + NEAR
    low, high = at[1] - NEAR, at[1] + 6 + NEAR
    for start, end in zip(curve, curve[1:] or curve, strict=False):
        first, last = max(start[0], left), min(end[0], right)
        if first <= last:
            heights = [_height(start, end, x) for x in (first, last)]
            if min(heights) <= high and max(heights) >= low:
                return True
    return False


def _height(start: tuple[float, float], end: tuple[float, float], x: float) -> float:
    if start[0] == end[0]:
        return end[1]
    return start[1] + (end[1] - start[1]) * (x - start[0]) / (end[0] - start[0])


def _treatments(field: _Field) -> Group:
    group = Group()
    for row, product in enumerate(_products(field.season)):
        y = field.bottom - _row(field.width) * (row + 1) + 2
        group.add(_product(field, product, y))
        for treatment in field.season.treatments:
            if treatment.product == product:
                group.add(_mark(field.x(treatment.day), y, treatment))
    return group


def _product(field: _Field, product: str, y: float) -> String:
    """Name a product left of its marks, or above them where it is narrow."""
    if field.is_narrow:
        return lettering((field.left, y + 14), product, 8, room=field.width - field.left)
    return lettering((LEFT - 6, y + 2), product, 8, "end", room=LEFT - 8)


def _mark(x: float, y: float, treatment: Treatment) -> Group:
    """Draw a box with the group number in it: filled when applied, open when planned."""
    fill, figure = (PLUM, PAPER) if treatment.applied else (None, PLUM)
    width = max(17, stringWidth(treatment.group, SANS_BOLD, 7.5) + 5)
    box = area((x - width / 2, y - 1), width, 11.5, fill, PLUM, 0.9)
    return Group(box, lettering((x, y + 1.9), treatment.group, 7.5, "middle", figure, SANS_BOLD))


def _described(season: Season, language: str) -> str:
    _ = words_in(language)
    counted = "; ".join(
        _("%(day)s: %(count)s") % {"day": long_day(one.day, language), "count": number(one.value)}
        for one in season.counts
    )
    treated = "; ".join(
        _("%(day)s: %(product)s, group %(group)s")
        % {"day": long_day(one.day, language), "product": one.product, "group": one.group or "–"}
        for one in season.treatments
    )
    told = _("Counted (%(unit)s): %(counted)s. Treated: %(treated)s.") % {
        "unit": season.unit,
        "counted": counted or "–",
        "treated": treated or "–",
    }
    return " ".join([told, *_expected_described(season, language, _)])


def _expected_described(season: Season, language: str, _: Callable[[str], str]) -> list[str]:
    planned = _("Expected on %(day)s: %(middle)s, between %(least)s and %(most)s.")
    otherwise = _("Otherwise on %(day)s: %(middle)s, between %(least)s and %(most)s.")
    return [
        sentence
        % {
            "day": long_day(points[-1].day, language),
            "middle": number(points[-1].middle),
            "least": number(points[-1].least),
            "most": number(points[-1].most),
        }
        for sentence, points in ((planned, season.expected), (otherwise, season.otherwise))
        if points
    ]


def height_for(season: Season, field: float, width: float = 500) -> float:
    """Return how high a season is drawn so that its counts have a field of some height, in points.

    width: of the drawing; a narrow one has higher rows

    >>> day = date(2026, 7, 6)
    >>> height_for(Season("Hedge", day, day, "a leaf", (), (Treatment(day, "Soap"),)), 100)
    173.0
    """
    return field + TOP + AXIS + _row(width) * len(_products(season)) + 6


def season_figure(
    season: Season, language: str = "en", width: float = 500, height: float = 210
) -> Figure:
    """Draw a season, widths and heights in points; where it is narrow, for a phone."""
    _ = words_in(language)
    drawing = Drawing(width, height)
    field, step = _field(season, width, height)
    for layer in (
        _spans(field),
        _scale(field, step),
        _days(field, language),
        _expected(field, _),
        _threshold(field, _),
        _counts(field),
        _treatments(field),
    ):
        drawing.add(layer)
    drawing.add(lettering((4, height - 10), season.unit, 8, colour=QUIET, room=width - 8))
    title = _("Counts and treatments: %(planting)s") % {"planting": season.planting}
    return Figure(drawing, title, _described(season, language))
