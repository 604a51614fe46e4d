"""The week as a timetable: which course is in which week, on which days, and what is in its way."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from itertools import groupby

from django.db.models import Prefetch, prefetch_related_objects
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.access import OFFICE, has_role
from services import dispatching
from services.charting import groups_of_contents
from services.courses import Mark
from services.models import Dispatch, Visit
from services.sheets.dates import weekday_name
from services.shopping import days_to_serve, lacking
from services.showing.addresses import pages_of
from services.showing.obstacles import Obstacle, obstacles
from services.showing.skies import Advised, StopHours, advised_holds, stop_hours
from services.showing.standing import SIGNS, SIGNS_SAID, standing_of
from services.weathering import Forecasts, load_labels
from services.words import week_of_rotation
from treatments.models import ProductIngredient
from treatments.shopping import ShoppingLine, shopping_lines

CONTENTS = Prefetch("contents", ProductIngredient.objects.select_related("ingredient"))


@dataclass(frozen=True, slots=True)
class DayHead:
    """A day as it stands above its column."""

    day: date
    name: str
    number: int
    is_today: bool


@dataclass(frozen=True, slots=True)
class DayCell:
    """What stands in a row on a day."""

    is_allowed: bool
    is_first: bool
    is_last: bool
    mark: str
    words: str
    hours: StopHours | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A course in the week."""

    visit: int
    can_dispatch: bool
    is_chosen: bool
    url: str
    client: str
    planting: str
    chooses: str
    product: str
    mode: str
    standing: str
    is_late: bool
    notes: list[int]
    days: tuple[DayCell, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """The courses that are in the same week of rotations of the same length."""

    heading: str
    rows: list[Row]


@dataclass(frozen=True, slots=True)
class Week:
    """All that the page of a week shows."""

    days: list[DayHead]
    groups: list[Group]
    in_the_way: list[Obstacle]
    untold: list[Obstacle]
    dispatches: list[Dispatch]
    advised: list[Advised]
    to_buy: list[ShoppingLine]

    def can_dispatch(self) -> bool:
        """Say whether there is a row that a crew can be sent to."""
        return any(row.can_dispatch for group in self.groups for row in group.rows)


def week_shown(
    monday: date,
    today: date,
    user,
    *,
    forecasts: Forecasts | None = None,
    with_shopping: bool = False,
    rotation_week=None,
    crew=None,
    words: str = "",
) -> Week:
    """Return what the page of a week shows, in a fixed number of queries.

    forecasts: to tell the hours of the allowed days by
    with_shopping: tell as well what is to be bought by the week's end, unless the week is over
    rotation_week, crew, words: only what is in this week of its rotation, on this crew's routes,
    or has the words in the name of client, property, planting or product
    """
    sunday = monday + timedelta(days=6)
    # What earlier visits take is gone for later ones, so all are counted from today.
    serving = days_to_serve(today) if with_shopping and today <= sunday else {}
    crews = dispatching.crews_at_work()
    found = dispatching.read_week(
        monday, crews, today, user=user, week=rotation_week, crew=crew, beside=serving.keys()
    )
    rows = [row for group in found.groups for row in group.rows if _stands_in(row, monday, today)]
    rows = [row for row in rows if not words or _has_words(row, words)]
    visits = [row.visit for row in rows]
    products = [week.product for week in {visit.rotation_week for visit in visits}]
    prefetch_related_objects([each for each in products if each], CONTENTS)
    if forecasts is not None and not forecasts.are_known():
        forecasts = None  # of no hour of any day anything could be shown
    if forecasts is not None:
        load_labels(visits)
    said = obstacles(((row.visit, row.findings) for row in rows), today)
    in_the_way = [each for each in said if not each.is_notice()]
    days = week_days(rows, monday, today)
    may_dispatch = has_role(user, OFFICE)
    table = _Timetable(days, notes_of(in_the_way), today, forecasts, may_dispatch=may_dispatch)
    return Week(
        days=days,
        groups=table.groups(rows),
        in_the_way=in_the_way,
        untold=[each for each in said if each.is_notice()],
        dispatches=dispatches(monday),
        advised=advised_holds(visits, forecasts) if forecasts else [],
        to_buy=shopping_lines(lacking(serving, found.takes, found.lots, today), sunday),
    )


def week_days(rows: Iterable[dispatching.WeekRow], monday: date, today: date) -> list[DayHead]:
    """Return Monday to Saturday, and Sunday where something is planned on it."""
    sunday = monday + timedelta(days=6)
    length = 7 if any(row.day == sunday for row in rows) else 6
    days = [monday + timedelta(days=place) for place in range(length)]
    names = [weekday_name(day, get_language())[:3].capitalize() for day in days]
    return [
        DayHead(day, name, day.day, day == today) for day, name in zip(days, names, strict=True)
    ]


def notes_of(in_the_way: Iterable[Obstacle]) -> Mapping[int, list[int]]:
    """Return the numbers of the notes in the margin by the id of the visit they speak of."""
    notes: dict[int, list[int]] = defaultdict(list)
    for place, obstacle in enumerate(in_the_way, start=1):
        for visit in obstacle.visits:
            notes[visit.pk].append(place)
    return notes


def dispatches(monday: date) -> list[Dispatch]:
    """Return who was sent out in a week, day after day, with the visits of each."""
    made = Dispatch.objects.filter(day__range=(monday, monday + timedelta(days=6)))
    stops = Visit.objects.select_related("course__property").order_by("position")
    found = made.select_related("crew__yard").prefetch_related(Prefetch("visits", stops))
    return list(found.order_by("day", "crew__name"))


def _stands_in(row: dispatching.WeekRow, monday: date, today: date) -> bool:
    """Say whether a visit is planned in the week, or left over in the one that runs."""
    sunday = monday + timedelta(days=6)
    return monday <= row.day <= sunday or (row.day < monday and monday <= today <= sunday)


def _has_words(row: dispatching.WeekRow, words: str) -> bool:
    product = row.visit.rotation_week.product
    names = [row.client.name, row.property.name, product.name if product else ""]
    names += [name for each in row.plantings for name in (each.name, each.common_name)]
    return any(words.casefold() in name.casefold() for name in names)


class _Timetable:
    """Writes the rows of a week; what many of them share is worked out once."""

    def __init__(
        self,
        heads: list[DayHead],
        notes: Mapping[int, list[int]],
        today: date,
        forecasts: Forecasts | None,
        *,
        may_dispatch: bool,
    ) -> None:
        self.heads, self.notes, self.may_dispatch = heads, notes, may_dispatch
        self.today, self.forecasts = today, forecasts
        self.mode_of, self.cells = cache(_mode), cache(self._cells)
        self.course_page = pages_of("services:course")
        self.chooses = _("Choose %(client)s, %(planting)s")

    def groups(self, rows: Iterable[dispatching.WeekRow]) -> list[Group]:
        """Return the rows by the week of their rotation, in order of the clients' names."""

        def turn(row: dispatching.WeekRow) -> tuple[int, int]:
            return row.week, row.weeks

        def order(row: dispatching.WeekRow) -> tuple:
            return *turn(row), row.client.name, row.property.name, row.visit.pk

        return [
            Group(week_of_rotation(*key), [self._row(row) for row in same])
            for key, same in groupby(sorted(rows, key=order), key=turn)
        ]

    def _row(self, row: dispatching.WeekRow) -> Row:
        visit, product = row.visit, row.visit.rotation_week.product
        notes = self.notes.get(visit.pk, [])
        can_dispatch = self.may_dispatch and row.mark is Mark.PLANNED
        named = {"client": row.client.name, "planting": _plantings(row)}
        return Row(
            visit=visit.pk,
            can_dispatch=can_dispatch,
            is_chosen=can_dispatch and not notes,
            url=f"{self.course_page(visit.course_id)}#visit-{visit.pk}",
            **named,
            chooses=self.chooses % named,
            product=product.name if product else visit.rotation_week.get_step_display(),
            mode=self.mode_of(product),
            standing=standing_of(visit, self.today),
            is_late=row.is_late,
            notes=notes,
            days=self._with_hours(row, self.cells(row.mark, row.day, row.earliest, row.latest)),
        )

    def _cells(self, mark: Mark, day: date, earliest: date, latest: date) -> tuple[DayCell, ...]:
        return tuple(_cell(head.day, mark, day, earliest, latest) for head in self.heads)

    def _with_hours(
        self, row: dispatching.WeekRow, cells: tuple[DayCell, ...]
    ) -> tuple[DayCell, ...]:
        """Return the days with the hours of the allowed ones, as far as a forecast tells them."""
        forecasts = self.forecasts
        if forecasts is None or row.mark is Mark.HELD or not forecasts.tell_of(row.property):
            return cells
        return tuple(
            replace(cell, hours=_hours(row.visit, head.day, forecasts))
            if cell.is_allowed and head.day >= self.today
            else cell
            for head, cell in zip(self.heads, cells, strict=True)
        )


def _plantings(row: dispatching.WeekRow) -> str:
    names = ", ".join(planting.name for planting in row.plantings)
    return f"{names} ({row.property.name})" if row.property.name != row.client.name else names


def _mode(product) -> str:
    groups = groups_of_contents(product) if product else ""
    if not groups:
        return _("no group") if product else _("no product")
    return _("group %(group)s") % {"group": groups}


def _cell(day: date, mark: Mark, marked: date, earliest: date, latest: date) -> DayCell:
    sign = SIGNS[mark] if day == marked else ""
    first, last = day == earliest, day == latest
    words = [_("earliest day")] if first else []
    words += [_("latest day")] if last else []
    words += [str(SIGNS_SAID[sign])] if sign else []
    return DayCell(earliest <= day <= latest, first, last, sign, ", ".join(words))


def _hours(visit: Visit, day: date, forecasts: Forecasts) -> StopHours | None:
    """Return the hours of an allowed day, or None where nothing is known of them."""
    hours = stop_hours(visit, day, forecasts)
    return hours if hours and hours.is_known() else None
