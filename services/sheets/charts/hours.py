"""The hours of a day at a stop as a strip: good, with care, hold, not known or closed.

Each kind of hour has a sign of its own beside its shade: a ring is good, a half-filled one asks
for care, a cross is to hold, a question mark is not known, and a closed hour stays empty.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from reportlab.graphics.shapes import Drawing, Group

from services.sheets.charts.pen import (
    EMBER,
    HAIRLINE,
    INK,
    PAPER,
    PLUM,
    QUIET,
    Figure,
    area,
    dot,
    lettering,
    stroke,
    tint,
)
from services.sheets.dates import clock, long_day
from services.sheets.words import words_in

HOUR = timedelta(hours=1)
LINE, LETTERS = 16.0, 14.0
GOOD, CARE, HOLD, UNKNOWN, SHUT = "good", "care", "hold", "unknown", "shut"


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours in a row of one kind, and why, in the reader's words."""

    starts_at: datetime
    ends_at: datetime
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The hours of a day at a stop, without gaps, told in the zone of the place."""

    name: str
    hours: tuple[Hours, ...]


def hours_figure(strip: Strip, language: str = "en", width: float = 340) -> Figure:
    """Draw the hours of a day with their signs and clock times, the width in points."""
    drawing = Drawing(width, LINE + LETTERS)
    for layer in (
        _shades(strip, width, LETTERS, LINE),
        _signs(strip, width),
        _clock(strip, width, language),
    ):
        drawing.add(layer)
    return Figure(drawing, _title(strip, language), _described(strip, language))


def small_hours_figure(strip: Strip, language: str = "en", width: float = 36) -> Figure:
    """Draw the hours of a day as small as a cell of a table, shades and heights without letters."""
    drawing = Drawing(width, 8)
    drawing.add(_heights(strip, width))
    return Figure(drawing, _title(strip, language), _described(strip, language))


def _ends(strip: Strip) -> tuple[datetime, datetime]:
    return strip.hours[0].starts_at, strip.hours[-1].ends_at


def _x(strip: Strip, width: float, moment: datetime) -> float:
    first, last = _ends(strip)
    return (moment - first) / (last - first) * (width - 1) + 0.5


FILLS = {
    GOOD: tint(PLUM, 0.12),
    CARE: tint(PLUM, 0.3),
    HOLD: tint(EMBER, 0.35),
    UNKNOWN: None,
    SHUT: tint(HAIRLINE, 0.5),
}


def _shades(strip: Strip, width: float, bottom: float, height: float) -> Group:
    group = Group()
    for each in strip.hours:
        left, right = (_x(strip, width, end) for end in (each.starts_at, each.ends_at))
        dash = [2, 2] if each.kind == UNKNOWN else None
        outline = None if each.kind == SHUT else QUIET
        corner = (left, bottom + 0.5)
        group.add(area(corner, right - left, height - 1, FILLS[each.kind], outline, 0.5, dash))
    return group


def _signs(strip: Strip, width: float) -> Group:
    group = Group()
    for each in strip.hours:
        middle = (_x(strip, width, each.starts_at) + _x(strip, width, each.ends_at)) / 2
        group.add(_sign(each.kind, (middle, LETTERS + LINE / 2)))
    return group


def _sign(kind: str, at: tuple[float, float]) -> Group:
    x, y = at
    if kind == HOLD:
        ends = [((x - 3, y - 3), (x + 3, y + 3)), ((x - 3, y + 3), (x + 3, y - 3))]
        return Group(*(stroke(start, end, EMBER, 1.4) for start, end in ends))
    if kind == UNKNOWN:
        return Group(lettering((x, y - 3), "?", 9, "middle", QUIET))
    if kind == CARE:
        return Group(dot(at, 3, filled=False), area((x - 3, y - 0.8), 6, 1.6, INK))
    return Group(dot(at, 3, filled=False)) if kind == GOOD else Group()


def _clock(strip: Strip, width: float, language: str) -> Group:
    group, (first, last) = Group(), _ends(strip)
    hours = int((last - first) / HOUR)
    for number in range(0, hours + 1, 3):
        moment = first + number * HOUR
        x = _x(strip, width, moment)
        anchor = "start" if number == 0 else "end" if number > hours - 2 else "middle"
        name = clock(moment, language).replace(":00 ", " ")
        group.add(lettering((x, 2), name, 8, anchor, QUIET))
    return group


HEIGHTS = {GOOD: 7.0, CARE: 4.5, HOLD: 1.6, UNKNOWN: 7.0, SHUT: 0.0}
SMALL_FILLS = {GOOD: QUIET, CARE: QUIET, HOLD: EMBER, UNKNOWN: PAPER}


def _heights(strip: Strip, width: float) -> Group:
    """Draw the better the hour the higher its bar; what is not known is an empty dashed frame."""
    group = Group()
    for each in strip.hours:
        if each.kind == SHUT:
            continue
        left, right = (_x(strip, width, end) for end in (each.starts_at, each.ends_at))
        outline, dash = (QUIET, [1, 1]) if each.kind == UNKNOWN else (None, None)
        fill = None if each.kind == UNKNOWN else SMALL_FILLS[each.kind]
        group.add(area((left, 0.5), right - left, HEIGHTS[each.kind], fill, outline, 0.5, dash))
    return group


def _title(strip: Strip, language: str) -> str:
    _ = words_in(language)
    return _("Hours to spray at %(place)s, %(day)s") % {
        "place": strip.name,
        "day": long_day(strip.hours[0].starts_at, language),
    }


def _described(strip: Strip, language: str) -> str:
    return hours_in_words(strip.hours, language)


def hours_in_words(hours: Sequence[Hours], language: str) -> str:
    """Return hours as a sentence; closed ones are left out."""
    _ = words_in(language)
    told = [
        _("%(from)s to %(until)s: %(words)s")
        % {
            "from": clock(each.starts_at, language),
            "until": clock(each.ends_at, language),
            "words": each.words,
        }
        for each in hours
        if each.kind != SHUT
    ]
    return "; ".join(told) + "." if told else _("No hour of this day is open.")
