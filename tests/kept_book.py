"""The whole book is made once in each process; a later test gets its rows and its things as copies.

What a test asks for is the same either way: rows, things that fixtures named, and files of the
book's folder.  A test with a soap or a crew of its own has its book made anew.
"""

import pickle
import shutil
from dataclasses import dataclass
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from django.apps import apps
from django.contrib.auth.models import Group
from django.db import connection, transaction

from services.searching.statements import ALL, rebuild_statements

OUR_OWN = {"tests.book", "tests.conftest"}
BESIDE = {"db", "now", "request", "settings", "tmp_path", "own_folder"}  # each test's own
GIVEN = pytest.StashKey[dict[str, object]]()
KEPT: dict[tuple, "KeptBook"] = {}


@dataclass(frozen=True, slots=True)
class KeptBook:
    """A book as it was made: rows by table, what fixtures gave, and its files."""

    rows: dict[str, list[tuple]]
    things: bytes
    folder: Path

    def put_back(self, folder):
        """Write rows and files as they were, and return new copies of what fixtures gave."""
        with transaction.atomic(), connection.cursor() as cursor:
            for table, rows in self.rows.items():
                places = ", ".join(["%s"] * len(rows[0]))
                into = f"{quoted(table)} ({', '.join(map(quoted, columns_of(cursor, table)))})"
                cursor.executemany(f"INSERT INTO {into} VALUES ({places})", rows)  # noqa: S608
            for each in ALL:
                for statement in rebuild_statements(each, connection.vendor):
                    cursor.execute(statement)
        shutil.copytree(self.folder, folder, dirs_exist_ok=True)
        return pickle.loads(self.things)  # noqa: S301 - what this process wrote


def quoted(name):
    return connection.ops.quote_name(name)


def columns_of(cursor, table):
    cursor.execute(f"SELECT * FROM {quoted(table)} LIMIT 0")  # noqa: S608
    return [column[0] for column in cursor.description]


def tables():
    """Return the tables of all models, each after those to which its rows point."""
    pointed_at = {
        model._meta.db_table: {
            field.related_model._meta.db_table
            for field in model._meta.concrete_fields
            if field.is_relation and field.related_model is not model
        }
        for model in apps.get_models(include_auto_created=True)
    }
    return TopologicalSorter(pointed_at).static_order()


def rows_of_all_tables():
    """Return the rows of every table as the database itself holds them, the oldest first."""
    plain = "{}::text" if connection.vendor == "postgresql" else "+{}"
    found = {}
    with connection.cursor() as cursor:
        for table in tables():
            columns = [quoted(name) for name in columns_of(cursor, table)]
            asked = ", ".join(plain.format(name) for name in columns)
            cursor.execute(f"SELECT {asked} FROM {quoted(table)} ORDER BY {columns[0]}")  # noqa: S608
            found[table] = cursor.fetchall()
    return found


def parts_of_book(request):
    """Return the fixtures of which the book is made, or none where a test has one of its own."""
    known, parts, waiting = request.node._fixtureinfo.name2fixturedefs, set(), ["book"]
    while waiting:
        name = waiting.pop()
        if name not in parts | BESIDE:
            parts.add(name)
            if known[name][-1].func.__module__ not in OUR_OWN:
                return set()
            waiting += known[name][-1].argnames
    return parts


def make_or_put_back(request):
    """Make or put back the book of a test that asks for it."""
    parts = parts_of_book(request) if "book" in request.fixturenames else set()
    if not parts:
        return
    request.getfixturevalue("db")
    folder = request.getfixturevalue("tmp_path")
    beside = tuple(Group.objects.order_by("pk").values_list("pk", "name"))
    if beside in KEPT:
        request.node.stash[GIVEN] = KEPT[beside].put_back(folder)
        request.getfixturevalue("book")
        return
    before = rows_of_all_tables()
    request.getfixturevalue("book")
    KEPT[beside] = kept(request, parts, before, folder)


def kept(request, parts, before, folder):
    """Keep the book that was just made."""
    rows = {}
    for table, found in rows_of_all_tables().items():
        assert set(before[table]) <= set(found), f"{table} was changed"
        if new := [row for row in found if row not in set(before[table])]:
            rows[table] = new
    things = {name: request.getfixturevalue(name) for name in parts}
    factory = request.getfixturevalue("tmp_path_factory")
    copies = factory.mktemp("kept-book")
    shutil.copytree(folder, copies, dirs_exist_ok=True)
    return KeptBook(rows, pickle.dumps(things), copies)


@pytest.hookimpl(tryfirst=True)
def pytest_fixture_setup(fixturedef, request):
    """Give what was put back in place of what a fixture would make."""
    given = request.node.stash.get(GIVEN, {})
    if fixturedef.argname not in given:
        return None
    value = given[fixturedef.argname]
    fixturedef.cached_result = (value, fixturedef.cache_key(request), None)
    return value
