"""Finds clients, properties, plantings, lots and records by words, as far as a person may see."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from django.db import connection

from clients.access import STAFF, Role, has_role, role_of
from clients.models import Client, Planting, Property
from services.searching.statements import (
    ALL,
    CLIENTS,
    LOTS,
    OF_A_KIND,
    PLANTINGS,
    PROPERTIES,
    RECORDS,
    TABLE,
    Sought,
)
from services.searching.words import (
    has_beginnings,
    match_of_postgresql,
    match_of_sqlite,
    words_of,
)
from treatments.models import ApplicationRecord, InspectorGrant, Lot

SHOWN = 12  # of a kind; our own choice
LONGEST = 400  # signs that are read of what is looked for
KEPT_SIGNS = 4  # of a word, of which FTS5 keeps the beginnings in order
READ_BACK = 1_000  # rows that are read for a word before its own are looked up; our own choice
COMMON = READ_BACK // 20  # of these, for a word to be common; our own choice
AT_A_TIME = 100  # records that are held against a grant at once

Marks = Sequence[Sequence[str]]


@dataclass
class Found:
    """What was found of each kind, and whether there is more of it than is shown."""

    words: list[str]
    clients: list[Client] = field(default_factory=list)
    properties: list[Property] = field(default_factory=list)
    plantings: list[Planting] = field(default_factory=list)
    lots: list[Lot] = field(default_factory=list)
    records: list[ApplicationRecord] = field(default_factory=list)
    more: set[str] = field(default_factory=set)

    def is_nothing(self) -> bool:
        """Say whether nothing was found."""
        kinds = (self.clients, self.properties, self.plantings, self.lots, self.records)
        return not any(kinds)


def search(user: Any, text: str, now: datetime) -> Found:
    """Return what holds all words of a text, of what a person may see, the newest of each kind."""
    found = Found(words_of(text))
    if not found.words:
        return found
    for sought in ALL:
        rows = list(_seen(sought, found.words, user, now))
        name = NAMES[sought.number]
        setattr(found, name, rows[:SHOWN])
        if len(rows) > SHOWN:
            found.more.add(name)
    return found


NAMES = {
    CLIENTS.number: "clients",
    PROPERTIES.number: "properties",
    PLANTINGS.number: "plantings",
    LOTS.number: "lots",
    RECORDS.number: "records",
}


def hits(
    sought: Sought, words: Sequence[str], marks: Marks, limit: int, before: int = OF_A_KIND
) -> list[int]:
    """Return the ids of the newest rows of a kind that hold all words and a mark of each row.

    before: an id; only smaller ones are returned
    """
    bounds = [sought.base(), sought.base() + before, sought.base() + OF_A_KIND]
    find = _in_sqlite if connection.vendor == "sqlite" else _in_postgresql
    found = find(words, marks, bounds, limit)
    return [number - sought.base() for number in found]


def _in_sqlite(words: Sequence[str], marks: Marks, bounds: list[int], limit: int) -> list[int]:
    """Return the newest rows; common words are read off one by one, not all put in order first.

    FTS5 keeps the beginnings of two to four signs in order.  For a longer one it would bring all
    rows that it begins together first, so the newest rows of its first four signs are read.
    """
    short = [word[:KEPT_SIGNS] for word in words]
    if short != list(words):
        for window in (2 * limit, 20 * limit):
            rows = _asked(IN_SQLITE, [match_of_sqlite(short, marks), *bounds, window])
            fits = [number for number, text in rows if has_beginnings(text, words)]
            if len(fits) >= limit or len(rows) < window:
                return fits[:limit]
    rows = _asked(IN_SQLITE, [match_of_sqlite(words, marks), *bounds, limit])
    return [number for number, _text in rows]


def _in_postgresql(words: Sequence[str], marks: Marks, bounds: list[int], limit: int) -> list[int]:
    """Return the newest rows; those of common words are among the last that were written.

    Rarer words have few rows, which the index of words brings together.
    """
    whole = match_of_postgresql(words, marks)
    rows = _asked(NEWEST_IN_POSTGRESQL, [*bounds, whole, limit])
    if len(rows) < limit:
        rare = match_of_postgresql(_rare_of(words, bounds), marks)
        rows = _asked(ALL_IN_POSTGRESQL, [*bounds, rare, whole, limit])
    return [number for (number,) in rows]


def _rare_of(words: Sequence[str], bounds: list[int]) -> Sequence[str]:
    """Return the words that few of the newest rows hold, all of them where none is rare.

    The index would gather every row of a common word to find the few that hold a rare one as well.
    """
    if len(words) == 1:
        return words
    each = ", ".join("count(*) FILTER (WHERE words @@ CAST(%s AS tsquery))" for _ in words)
    matches = [match_of_postgresql([word], []) for word in words]
    ((*counts,),) = _asked(f"SELECT {each} FROM ({NEWEST}) AS newest", [*matches, *bounds])
    return [word for word, count in zip(words, counts, strict=True) if count < COMMON] or words


def _asked(statement: str, values: list[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return cursor.fetchall()


IN_SQLITE = (
    f"SELECT rowid, words FROM {TABLE} WHERE {TABLE} MATCH %s AND rowid >= %s AND rowid < %s "
    "AND rowid < %s ORDER BY rowid DESC LIMIT %s"
)
# Left to itself PostgreSQL reads back through every row for a word that it takes for common.
NEWEST = (
    f"SELECT id, words FROM {TABLE} WHERE id >= %s AND id < %s AND id < %s "
    f"ORDER BY id DESC LIMIT {READ_BACK}"
)
NEWEST_IN_POSTGRESQL = (
    f"SELECT id FROM ({NEWEST}) AS newest WHERE words @@ CAST(%s AS tsquery) "
    "ORDER BY id DESC LIMIT %s"
)
ALL_IN_POSTGRESQL = (
    f"SELECT id FROM (SELECT id, words FROM {TABLE} WHERE id >= %s AND id < %s AND id < %s "
    "AND words @@ CAST(%s AS tsquery) OFFSET 0) AS found WHERE words @@ CAST(%s AS tsquery) "
    "ORDER BY id DESC LIMIT %s"
)


def _seen(sought: Sought, words: list[str], user: Any, now: datetime) -> Iterator[Any]:
    """Yield the rows of a kind that a person may see, one more than is shown where there are."""
    if has_role(user, STAFF):
        yield from _rows(sought, user, hits(sought, words, [], SHOWN + 1))
    elif role_of(user) is Role.TECHNICIAN and sought not in (CLIENTS, LOTS):
        reached = Property.objects.for_user(user).values_list("pk", flat=True)
        places = [f"p{pk}" for pk in reached]
        if places:
            yield from _rows(sought, user, hits(sought, words, [places], SHOWN + 1))
    elif role_of(user) is Role.INSPECTOR and sought is RECORDS:
        yield from _within_grants(words, user, now)


def _rows(sought: Sought, user: Any, ids: Sequence[int]) -> list[Any]:
    """Return the rows of ids in their order, read once more as the person may see them."""
    rows: Any = {
        CLIENTS.number: Client.objects.for_user(user),
        PROPERTIES.number: Property.objects.for_user(user).select_related("client"),
        PLANTINGS.number: Planting.objects.for_user(user).select_related("property__client"),
        LOTS.number: Lot.objects.select_related("product"),
        RECORDS.number: ApplicationRecord.objects.for_user(user),
    }[sought.number]
    by_id = {each.pk: each for each in rows.filter(pk__in=ids)}
    return [by_id[pk] for pk in ids if pk in by_id]


def _within_grants(words: list[str], user: Any, now: datetime) -> Iterator[ApplicationRecord]:
    """Yield records that an inspector's grants open; the index narrows, the grants decide."""
    seen: dict[int, ApplicationRecord] = {}
    for grant in InspectorGrant.objects.open_at(now).filter(inspector=user):
        before = OF_A_KIND
        while len(seen) <= SHOWN:
            ids = hits(RECORDS, words, _marks_of(grant, now), AT_A_TIME, before)
            seen |= {each.pk: each for each in _rows(RECORDS, user, ids)}
            if len(ids) < AT_A_TIME:
                break
            before = ids[-1]
    yield from sorted(seen.values(), key=lambda each: -each.pk)


def _marks_of(grant: InspectorGrant, now: datetime) -> list[list[str]]:
    """Return by which marks the records of a grant are found, with some to spare."""
    marks = []
    if grant.jurisdictions:
        marks.append([f"j{code.replace('-', '').lower()}" for code in grant.jurisdictions])
    if grant.client_id:
        places = Property.objects.filter(client=grant.client_id).values_list("pk", flat=True)
        marks.append([f"p{pk}" for pk in places] or ["p0"])
    if grant.first_day:
        last = grant.last_day or now.astimezone(UTC).date()
        marks.append([f"m{month}" for month in months(grant.first_day, last)])
    return marks


def months(first: date, last: date) -> list[str]:
    """Return the months from the one before a day to the one after another, as 202607.

    >>> months(date(2026, 12, 31), date(2026, 12, 31))
    ['202611', '202612', '202701']
    """
    start, end = first.year * 12 + first.month - 2, last.year * 12 + last.month
    return [f"{number // 12}{number % 12 + 1:02d}" for number in range(start, end + 1)]
