"""A crew's day as a time-and-place diagram: hours across, stops down, one line for the crew."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from reportlab.graphics.shapes import Drawing, Group

from services.sheets.charts.pen import (
    EMBER,
    HAIRLINE,
    INK,
    NARROW,
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
from services.sheets.typefaces import SANS_BOLD
from services.sheets.words import words_in

LEFT, RIGHT, HEAD, FOOT = 150.0, 14.0, 20.0, 30.0
NARROW_LEFT, LINE = 22.0, 14.0  # where it is narrow, stops have numbers alone

ACCESS, DUSK, WEATHER = "access", "dusk", "weather"


@dataclass(frozen=True, slots=True)
class Window:
    """Hours in which a stop may be worked, and what allows them: access, dusk or weather."""

    opens_at: datetime
    closes_at: datetime
    kind: str

    def in_zone(self, zone: ZoneInfo) -> "Window":
        """Return the same hours told in a zone."""
        return Window(self.opens_at.astimezone(zone), self.closes_at.astimezone(zone), self.kind)


@dataclass(frozen=True, slots=True)
class RunStop:
    """A stop on the crew's way; between arriving and beginning the crew waits.

    leaves_at: when it drives on, where it first waits, rinses or has lunch; else None
    """

    name: str
    arrives_at: datetime
    begins_at: datetime
    ends_at: datetime
    windows: tuple[Window, ...] = ()
    leaves_at: datetime | None = None

    def in_zone(self, zone: ZoneInfo) -> "RunStop":
        """Return the same stop told in a zone."""
        return replace(
            self,
            arrives_at=self.arrives_at.astimezone(zone),
            begins_at=self.begins_at.astimezone(zone),
            ends_at=self.ends_at.astimezone(zone),
            windows=tuple(window.in_zone(zone) for window in self.windows),
            leaves_at=self.leaves_at and self.leaves_at.astimezone(zone),
        )


@dataclass(frozen=True, slots=True)
class DayRun:
    """A crew's way through a day; what is drawn are the times as they are given."""

    crew: str
    yard: str
    leaves_at: datetime
    returns_at: datetime
    stops: tuple[RunStop, ...]

    def in_zone(self, zone: str) -> "DayRun":
        """Return the same way told in a zone, given by its IANA name."""
        place = ZoneInfo(zone)
        return replace(
            self,
            leaves_at=self.leaves_at.astimezone(place),
            returns_at=self.returns_at.astimezone(place),
            stops=tuple(stop.in_zone(place) for stop in self.stops),
        )


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where hours and places stand on the drawing."""

    run: DayRun
    first: datetime
    last: datetime
    width: float
    height: float
    row: float

    @property
    def is_narrow(self) -> bool:
        return self.width < NARROW

    @property
    def left(self) -> float:
        return NARROW_LEFT if self.is_narrow else LEFT

    def x(self, moment: datetime) -> float:
        part = (moment - self.first) / (self.last - self.first)
        return self.left + min(max(part, 0.0), 1.0) * (self.width - self.left - RIGHT)

    def y(self, place: int) -> float:
        """Return the height of a place: 0 is the yard in the morning, then the stops, the yard."""
        return self.height - HEAD - self.row * (place + 0.5)


def _grid(run: DayRun, width: float, height: float) -> _Grid:
    first = run.leaves_at.replace(minute=0, second=0, microsecond=0)
    last = run.returns_at.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    foot = FOOT + (LINE if width < NARROW else 0)
    row = (height - HEAD - foot) / (len(run.stops) + 2)
    return _Grid(run, first, last, width, height, row)


def _hours(grid: _Grid, language: str) -> Group:
    group = Group()
    hours = int((grid.last - grid.first) / timedelta(hours=1))
    every = 1 + hours // (7 if grid.is_narrow else 13)
    bottom = grid.y(len(grid.run.stops) + 1) - grid.row / 2
    for hour in range(hours + 1):
        moment = grid.first + timedelta(hours=hour)
        x = grid.x(moment)
        group.add(stroke((x, bottom), (x, grid.height - HEAD), HAIRLINE, 0.5))
        if hour % every == 0:
            name = clock(moment, language).replace(":00 ", " ")
            group.add(lettering((x, grid.height - 12), name, 8, "middle", QUIET))
    return group


def _places(grid: _Grid) -> Group:
    group = Group()
    names = [grid.run.yard, *(stop.name for stop in grid.run.stops), grid.run.yard]
    for place, name in enumerate(names):
        y = grid.y(place)
        group.add(stroke((grid.left, y), (grid.width - RIGHT, y), HAIRLINE, 0.5))
        is_stop = 0 < place < len(names) - 1
        if is_stop:
            group.add(lettering((12, y - 3), str(place), 9.5, "end", face=SANS_BOLD))
        if not grid.is_narrow:
            colour = INK if is_stop else QUIET
            group.add(lettering((18, y - 3), name, 9, colour=colour, room=LEFT - 24))
    return group


def _window(grid: _Grid, window: Window, y: float) -> Group:
    left, right = grid.x(window.opens_at), grid.x(window.closes_at)
    return _band(window.kind, left, right - left, y, grid.row)


def _band(kind: str, left: float, width: float, y: float, row: float) -> Group:
    """Shade hours: access as a full band, dusk as a dark one, weather as a dashed frame."""
    if kind == WEATHER:
        frame = area((left, y - row * 0.44), width, row * 0.88, None, QUIET, 0.7, [2, 2])
        return Group(frame)
    colour, strength = (PLUM, 0.22) if kind == DUSK else (HAIRLINE, 0.6)
    part = 0.62 if kind == DUSK else 0.84
    return Group(area((left, y - row * part / 2), width, row * part, tint(colour, strength)))


def _windows(grid: _Grid) -> Group:
    group = Group()
    for place, stop in enumerate(grid.run.stops, start=1):
        for window in sorted(stop.windows, key=lambda one: one.kind):
            group.add(_window(grid, window, grid.y(place)))
    return group


def _way(grid: _Grid) -> Group:
    """Draw the crew's line: thin while driving, dashed while halting, heavy while working."""
    group, place, left_at = Group(), 0, grid.run.leaves_at
    for index, stop in enumerate(grid.run.stops, start=1):
        y = grid.y(index)
        group.add(stroke((grid.x(left_at), grid.y(place)), (grid.x(stop.arrives_at), y), INK, 1))
        leaves_at = stop.leaves_at or stop.ends_at
        for since, until in ((stop.arrives_at, stop.begins_at), (stop.ends_at, leaves_at)):
            if until > since:
                ends = (grid.x(since), y), (grid.x(until), y)
                group.add(stroke(*ends, INK, 1.2, [1.5, 2]))
        group.add(stroke((grid.x(stop.begins_at), y), (grid.x(stop.ends_at), y), INK, 4))
        place, left_at = index, leaves_at
    home = (grid.x(grid.run.returns_at), grid.y(place + 1))
    group.add(stroke((grid.x(left_at), grid.y(place)), home, INK, 1))
    return group


def _times(grid: _Grid, language: str) -> Group:
    """Write when work begins and ends at each stop, when the crew leaves and is back."""
    group = Group()
    yard = [(0, grid.run.leaves_at), (len(grid.run.stops) + 1, grid.run.returns_at)]
    for place, moment in yard:
        at = (grid.x(moment), grid.y(place))
        group.add(dot(at, 2.5, filled=True))
        group.add(_beside(grid, at, clock(moment, language)))
    for place, stop in enumerate(grid.run.stops, start=1):
        text = f"{clock(stop.begins_at, language)} – {clock(stop.ends_at, language)}"
        group.add(_beside(grid, (grid.x(stop.ends_at), grid.y(place)), text))
    return group


def _beside(grid: _Grid, at: tuple[float, float], text: str) -> Group:
    """Write right above a mark's right side, or left of it where the room ends."""
    lift = at[1] + 3.5
    if at[0] > grid.width - 90:
        return Group(lettering((at[0] - 6, at[1] - 9), text, 8, "end"))
    return Group(lettering((at[0] + 5, lift), text, 8))


def _legend(grid: _Grid, _: Callable[[str], str]) -> Group:
    group, x, y = Group(), grid.left, 11 + (LINE if grid.is_narrow else 0)
    lines: list[tuple[str, float, list[float] | None]] = [
        (_("driving"), 1, None),
        (_("waiting"), 1.2, [1.5, 2]),
        (_("working"), 4, None),
    ]
    for name, weight, dash in lines:
        group.add(stroke((x, y), (x + 16, y), INK, weight, dash))
        group.add(lettering((x + 20, y - 3), name, 8, colour=QUIET))
        x += 62
    if grid.is_narrow:
        x, y = grid.left, 11
    kinds = {window.kind for stop in grid.run.stops for window in stop.windows}
    names = {ACCESS: _("access"), DUSK: _("dusk"), WEATHER: _("weather")}
    for kind in sorted(kinds & set(names)):
        group.add(_band(kind, x, 16, y, 14))
        group.add(lettering((x + 20, y - 3), names[kind], 8, colour=QUIET))
        x += 62
    return group


def _late_marks(grid: _Grid) -> Group:
    """Mark with a cross where the crew's work ends after its last window has closed."""
    group = Group()
    for place, stop in enumerate(grid.run.stops, start=1):
        last = {}
        for window in sorted(stop.windows, key=lambda one: one.closes_at):
            last[window.kind] = window.closes_at
        if any(stop.ends_at > closes for closes in last.values()):
            at = (grid.x(stop.ends_at) - 3, grid.y(place) - 11)
            group.add(lettering(at, "×", 10, colour=EMBER, face=SANS_BOLD))
    return group


def _described(run: DayRun, language: str) -> str:
    _ = words_in(language)
    stops = "; ".join(
        _("stop %(number)s, %(name)s, work from %(begins)s to %(ends)s")
        % {
            "number": place,
            "name": stop.name,
            "begins": clock(stop.begins_at, language),
            "ends": clock(stop.ends_at, language),
        }
        for place, stop in enumerate(run.stops, start=1)
    )
    return _("Leaves %(yard)s at %(leaves)s; %(stops)s; back at %(returns)s.") % {
        "yard": run.yard,
        "leaves": clock(run.leaves_at, language),
        "stops": stops or "–",
        "returns": clock(run.returns_at, language),
    }


def day_figure(
    run: DayRun, language: str = "en", width: float = 525, height: float | None = None
) -> Figure:
    """Draw a crew's day, widths and heights in points; where it is narrow, without names."""
    _ = words_in(language)
    legend = FOOT + (LINE if width < NARROW else 0)
    tall = height or HEAD + legend + 26 * (len(run.stops) + 2)
    grid = _grid(run, width, tall)
    drawing = Drawing(width, tall)
    for layer in (
        _windows(grid),
        _hours(grid, language),
        _places(grid),
        _way(grid),
        _times(grid, language),
        _late_marks(grid),
        _legend(grid, _),
    ):
        drawing.add(layer)
    title = _("The day of %(crew)s, %(day)s") % {
        "crew": run.crew,
        "day": long_day(run.leaves_at, language),
    }
    return Figure(drawing, title, _described(run, language))
