"""No register reads a whole table: the plans that the database makes for a book of some size.

A small book is made up and written nineteen times more by the database itself, its past only, so
that this week stays what a business has; then the database counts its tables and plans anew.
PostgreSQL would rightly read tables of this size in sequence and put them side by side: it is told
not to, so that what it still reads whole is what no index serves at any size.
"""

import json
import re

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clients.models import Client, Planting, Property
from services.demonstration.reading import moment
from services.generating import Wanted, generate
from services.models import Course, Crew, Dispatch, Outbox, Visit
from treatments.models import ApplicationRecord, StockEntry

pytestmark = [pytest.mark.slow, pytest.mark.django_db]

TIMES = 20
APART = 1_000_000  # between the keys of a row and of its copy
COPIED = [  # each with the columns that are told apart
    (Client, ["id"]),
    (Property, ["id", "client_id"]),
    (Planting, ["id", "property_id"]),
    (Course, ["id", "property_id"]),
    (Course.plantings.through, ["id", "course_id", "planting_id"]),
    (Visit, ["id", "course_id"]),
    (ApplicationRecord, ["id", "number", "planting_id"]),
    (Visit.records.through, ["id", "visit_id", "applicationrecord_id"]),
    (StockEntry, ["id", "record_id"]),
    (Outbox, ["id"]),
]
ONLY = {
    Visit: "state IN ('COMPLETED', 'CANCELLED')",
    ApplicationRecord: "amends_id IS NULL",
    StockEntry: (
        "record_id IN (SELECT id FROM treatments_applicationrecord WHERE amends_id IS NULL)"
    ),
}
BIG = {model._meta.db_table for model, _ in COPIED}
REGISTERS = [
    "/records/",
    "/records/?after=500",
    "/records/?jurisdiction=US-PA",
    "/records/?first=2026-05-01&last=2026-05-07",
    "/records/due/",
    "/records/?sort=number",
    "/records/?sort=-product",
    "/records/?sort=-product&after=500",
    "/records/?sort=who",
    "/records/?sort=who&before=500",
    "/properties/",
    "/properties/?after=500",
    "/properties/?sort=-city",
    "/properties/?sort=city&after=50",
    "/properties/?sort=client",
    "/products/?sort=-registration",
    "/rotations/?sort=pest",
    "/leftovers/?sort=product",
    "/spills/?sort=place",
    "/estimates/?sort=client",
    "/week/",
    "/day/",
    "/store/",
    "/store/disposals/",
    "/outgoing/",
    "/review/",
    "/notices/",
    "/signs/",
    "/corrections/",
    "/days-asked/",
    "/phones/",
    "/api/v1/records/",
    "/api/v1/records/?count=all",
    "/api/v1/visits/",
]
# Walls that stand: what still reads a table whole, and why.  Who takes one down strikes it out.
WALLS = {
    "/properties/": {Client: "clients without a property are looked for among all of them"},
    "/properties/?after=500": {Client: "the same"},
    "/properties/?sort=-city": {Client: "the same"},
    "/properties/?sort=city&after=50": {Client: "the same"},
    "/properties/?sort=client": {
        Client: "the same",
        Property: "two clients may have one name: their properties are put in order together",
    },
    "/week/": {Visit: "open ones are found by their state, and SQLite takes each for as common"},
    "/store/disposals/": {Property: "the zone in which most properties lie is counted"},
    "/spills/?sort=place": {Property: "the zone in which most properties lie is counted"},
    "/rotations/?sort=pest": {Property: "the zone in which most properties lie is counted"},
    "/store/": {Property: "the zone in which most properties lie is counted"},
    "/api/v1/records/?count=all": {ApplicationRecord: "it asks how many there are"},
}
WALLS_OF_SQLITE = {("/week/", Visit)}  # PostgreSQL counts how many are open
FLOWING = {"Index Scan", "Index Only Scan", "Nested Loop", "Incremental Sort", "Memoize", "Result"}
# Indexes of what still waits alone, and of the lines of the ledger that lie on trucks.
FEW = {"outbox_due", "outbox_failed", "field_event_to_review", "stock_entry_on_trucks"}
BOUNDED_COUNT = re.compile(r"SELECT COUNT\(\*\) FROM \(SELECT .* LIMIT \d+\) subquery", re.DOTALL)


@pytest.fixture
def office():
    """Somebody of the office at a book of twenty thousand records."""
    wanted = Wanted(clients=100, records=1_000, seed=1, today=timezone.localdate())
    generate(wanted, tell_passwords=lambda passwords: None, step=lambda: None)
    hand_out_what_was_made()
    with connection.cursor() as cursor:
        for model, apart in COPIED:
            cursor.execute(copying(model, apart))
        cursor.execute("ANALYZE")
        if connection.vendor == "sqlite":
            tell_of_empty_tables(cursor)
        else:
            for way in ("seqscan", "hashjoin", "mergejoin"):
                cursor.execute(f"SET LOCAL enable_{way} = off")
    browser = Browser()
    browser.force_login(get_user_model().objects.get(username="odile"))
    return browser


def hand_out_what_was_made():
    """Let one crew after the other have made the visits, with a dispatch for each of its days."""
    made, crews = Visit.objects.filter(state="COMPLETED"), list(Crew.objects.all())
    days = sorted(set(made.values_list("planned", flat=True)))
    routes = Dispatch.objects.bulk_create(
        Dispatch(
            crew=crews[number % len(crews)],
            day=day,
            made_at=moment(day, 6),
            leaves_yard_at=moment(day, 7),
            returns_at=moment(day, 16),
        )
        for number, day in enumerate(days)
    )
    for route in routes:
        made.filter(planned=route.day).update(dispatch=route)


def tell_of_empty_tables(cursor):
    """Let SQLite plan with a thousand rows where a table has none: it would take it for huge."""
    cursor.execute(
        "INSERT INTO sqlite_stat1 (tbl, idx, stat) SELECT name, NULL, '1000' FROM sqlite_master "
        "WHERE type = 'table' AND name NOT LIKE 'sqlite_%%' "
        "AND name NOT IN (SELECT tbl FROM sqlite_stat1)"
    )
    cursor.execute("ANALYZE sqlite_master")


def copying(model, apart):
    """Return the statement that writes a table's rows nineteen times more."""
    names = [field.column for field in model._meta.concrete_fields]
    told = {name: f"r.{name} + n.k * {APART}" for name in apart}
    told |= {"dedupe_key": "r.dedupe_key || ':' || n.k"}
    if model is ApplicationRecord:
        told["event_id"] = "NULL"
    columns = ", ".join(told.get(name, f"r.{name}") for name in names)
    table = model._meta.db_table
    return (
        f"INSERT INTO {table} ({', '.join(names)}) "  # noqa: S608
        f"WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < {TIMES - 1}) "
        f"SELECT {columns} FROM n, (SELECT * FROM {table} WHERE {ONLY.get(model, '1 = 1')}) r"
    )


def test_no_register_reads_a_whole_table(office):
    assert ApplicationRecord.objects.count() > 19_000
    found = {}
    for address in REGISTERS:
        with CaptureQueriesContext(connection) as seen:
            assert office.get(address).status_code == 200, address
        tables = {
            (table, sql)
            for sql in sorted(queries(seen))
            for table in read_whole(sql)
            if table in BIG
        }
        if tables:
            found[address] = dict(tables)

    stand = {
        (address, model._meta.db_table)
        for address, walls in WALLS.items()
        for model in walls
        if (address, model) not in WALLS_OF_SQLITE or connection.vendor == "sqlite"
    }
    seen = {(address, table): sql for address in found for table, sql in found[address].items()}
    assert not stand - seen.keys(), "needed no longer"
    told = [f"{place}: {sql[-700:]}" for place, sql in seen.items() if place not in stand]
    assert not told, "\n".join(told)


def queries(seen):
    """Return what was asked of the tables, each once."""
    return {each["sql"] for each in seen.captured_queries if each["sql"].startswith("SELECT")}


def read_whole(sql):
    """Yield the tables that are scanned; along an index up to a limit, a scan is none."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
            return scanned_by_sqlite(sql, [row[3] for row in cursor.fetchall()])
        cursor.execute(f"EXPLAIN (FORMAT JSON) {sql}")
        told = cursor.fetchone()[0]
        plan = json.loads(told) if isinstance(told, str) else told
        return scanned_by_postgresql(plan[0]["Plan"], ends_early=False)


def scanned_by_sqlite(sql, steps):
    """Yield what the steps of SQLite's plan scan."""
    is_limited = "LIMIT" in sql.rsplit(")", 1)[-1] or BOUNDED_COUNT.fullmatch(sql)
    ends_early = is_limited and not any("TEMP B-TREE" in s for s in steps)
    names = dict(re.findall(r'"(\w+)" (T\d+|U\d+)\b', sql))
    names = {alias: table for table, alias in names.items()}
    for step in steps:
        scan = re.match(r"SCAN (\w+)(?: USING .*INDEX (\w+))?", step)
        if scan and scan[2] not in FEW and not (ends_early and scan[2]):
            yield names.get(scan[1], scan[1])


def scanned_by_postgresql(node, *, ends_early):
    """Yield what a node of PostgreSQL's plan and those below it scan.

    Rows flow on one by one through some nodes alone; every other takes all before it gives one.
    """
    kind = node["Node Type"]
    ends_early = kind == "Limit" or (ends_early and kind in FLOWING)
    if kind in {"Index Scan", "Index Only Scan"}:
        if "Index Cond" not in node and not ends_early and node["Index Name"] not in FEW:
            yield node["Relation Name"]
    elif kind == "Seq Scan" or (kind == "Bitmap Heap Scan" and "Recheck Cond" not in node):
        yield node["Relation Name"]
    for place, each in enumerate(node.get("Plans", [])):
        yield from scanned_by_postgresql(each, ends_early=ends_early and place == 0)


@pytest.mark.django_db
def test_the_check_knows_a_query_that_reads_a_whole_table():
    table = ApplicationRecord._meta.db_table

    assert table in set(read_whole(f'SELECT "id" FROM "{table}" ORDER BY "note"'))  # noqa: S608
    few = set(read_whole(f'SELECT "note" FROM "{table}" WHERE "number" = 7'))  # noqa: S608
    assert not few & BIG


@pytest.mark.django_db
def test_the_check_knows_a_count_that_ends_from_one_that_does_not():
    table = ApplicationRecord._meta.db_table
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    bounded = f'SELECT COUNT(*) FROM (SELECT "id" FROM "{table}" LIMIT 9) subquery'  # noqa: S608

    assert table in set(read_whole(f'SELECT COUNT(*) FROM "{table}"'))  # noqa: S608
    assert not set(read_whole(bounded)) & BIG
