"""Daily temperatures from a table that any spreadsheet can write.

A text with commas between its columns and their names in the first row, in any order:

- ``date``: the day, such as 2026-05-31
- ``min`` and ``max``: its lowest and highest temperature, with a point before decimals
- ``unit``: C or F, in each row
- ``kind``, which may be missing: ``measured`` or ``forecast``; an empty cell means measured

Other columns are passed over.  A wrong cell is told by its row, as a spreadsheet counts them, and
its column; the days that read well are returned beside it.
"""

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import isfinite
from types import MappingProxyType

from treatments.rules.degree_days import DayTemperature, Scale
from treatments.rules.findings import filled, gettext_noop

COLUMNS = ("date", "min", "max", "unit")
KINDS = {"": False, "measured": False, "forecast": True}
COLDEST = {Scale.CELSIUS: -60, Scale.FAHRENHEIT: -76}
HOTTEST = {Scale.CELSIUS: 60, Scale.FAHRENHEIT: 140}
MOST_ROWS = 10_000

NO_COLUMN = gettext_noop("The column is missing.")
EMPTY = gettext_noop("The table holds no day.")
TOO_LONG = gettext_noop("The table is longer than %(limit)s rows; the rest was not read.")
NOT_A_DATE = gettext_noop("“%(cell)s” is no date such as 2026-05-31.")
NOT_A_NUMBER = gettext_noop("“%(cell)s” is no number; decimals are written with a point.")
NOT_A_UNIT = gettext_noop("“%(cell)s” is no unit: write C or F.")
NOT_A_KIND = gettext_noop("“%(cell)s” is neither measured nor forecast.")
NO_SUCH_WEATHER = gettext_noop("%(cell)s °%(unit)s is no temperature of the air: look at the unit.")
UPSIDE_DOWN = gettext_noop("The highest, %(cell)s, lies below the lowest, %(lowest)s.")
TOLD_BEFORE = gettext_noop("%(cell)s stands in row %(row)s already.")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one cell: its row, counted from 1 with the names, and its column."""

    row: int
    column: str
    sentence: str
    facts: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))

    def say(self, translate: Callable[[str], str] = str) -> str:
        """Return the sentence with its facts, in the language of `translate`."""
        return filled(self.sentence, self.facts, translate)


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """The days that a table tells, in their order, and the cells that could not be read."""

    days: tuple[DayTemperature, ...]
    faults: tuple[Fault, ...]


class _Unreadable(ValueError):
    """One cell that cannot be read; it becomes a fault of its row."""

    def __init__(self, column: str, sentence: str, **facts: object) -> None:
        super().__init__(sentence)
        self.column, self.sentence, self.facts = column, sentence, facts


def read_weather(text: str) -> WeatherTable:
    """Return the days and the faults of a table of daily temperatures.

    >>> table = read_weather("date,min,max,unit\\n2026-05-01,8,21.5,C\\n2026-05-02,9,x,C\\n")
    >>> table.days[0].maximum
    21.5
    >>> [(fault.row, fault.column, fault.say()) for fault in table.faults]
    [(3, 'max', '“x” is no number; decimals are written with a point.')]
    """
    rows = csv.reader(io.StringIO(text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")))
    names = [name.strip().casefold() for name in next(rows, [])]
    missing = [Fault(1, column, NO_COLUMN) for column in COLUMNS if column not in names]
    if missing:
        return WeatherTable((), tuple(missing))
    days, faults = _read_rows(names, rows)
    if not days and not faults:
        faults = [Fault(1, "date", EMPTY)]
    return WeatherTable(tuple(days[day] for day in sorted(days)), tuple(faults))


def _read_rows(
    names: list[str], rows: Iterator[list[str]]
) -> tuple[dict[date, DayTemperature], list[Fault]]:
    days: dict[date, DayTemperature] = {}
    rows_of: dict[date, int] = {}
    faults: list[Fault] = []
    for row, cells in enumerate(rows, start=2):
        if row > MOST_ROWS:
            faults.append(Fault(row, "date", TOO_LONG, {"limit": MOST_ROWS}))
            break
        if not any(cell.strip() for cell in cells):
            continue
        try:
            read = _read_day(dict(zip(names, cells, strict=False)))
            _refuse_second(read.day, rows_of)
        except _Unreadable as fault:
            faults.append(Fault(row, fault.column, fault.sentence, fault.facts))
            continue
        days[read.day], rows_of[read.day] = read, row
    return days, faults


def _refuse_second(day: date, rows_of: Mapping[date, int]) -> None:
    if day in rows_of:
        raise _Unreadable("date", TOLD_BEFORE, cell=day.isoformat(), row=rows_of[day])


def _read_day(cells: Mapping[str, str]) -> DayTemperature:
    cell = {name: value.strip() for name, value in cells.items()}
    day, scale = _date(cell.get("date", "")), _unit(cell.get("unit", ""))
    lowest = _temperature("min", cell.get("min", ""), scale)
    highest = _temperature("max", cell.get("max", ""), scale)
    if highest < lowest:
        raise _Unreadable("max", UPSIDE_DOWN, cell=cell["max"], lowest=cell["min"])
    kind = cell.get("kind", "").casefold()
    if kind not in KINDS:
        raise _Unreadable("kind", NOT_A_KIND, cell=cell["kind"])
    return DayTemperature(day, lowest, highest, scale, forecast=KINDS[kind])


def _date(cell: str) -> date:
    try:
        return date.fromisoformat(cell)
    except ValueError:
        raise _Unreadable("date", NOT_A_DATE, cell=cell) from None


def _unit(cell: str) -> Scale:
    try:
        return Scale(cell.removeprefix("°").upper())
    except ValueError:
        raise _Unreadable("unit", NOT_A_UNIT, cell=cell) from None


def _temperature(column: str, cell: str, scale: Scale) -> float:
    try:
        degrees = float(cell)
    except ValueError:
        degrees = float("nan")
    if not isfinite(degrees):
        raise _Unreadable(column, NOT_A_NUMBER, cell=cell)
    if not COLDEST[scale] <= degrees <= HOTTEST[scale]:
        raise _Unreadable(column, NO_SUCH_WEATHER, cell=cell, unit=scale.value)
    return degrees
