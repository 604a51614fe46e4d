"""What many tests begin with is made twice in a process; then they get its rows as copies.

The fixtures of the shared conftest files that make rows follow one another in a test in an order
that is known before.  Where the same fixtures have followed one another, at the same stopped hour,
what they made is put back the third time, as `kept_book` does with the whole book.  Only what a
test takes back at its end is put back, and only into empty tables.
"""

import inspect
import pickle
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
import time_machine
from django.contrib.auth.models import Group
from django.db import connection

from tests.kept_book import GIVEN, put_rows_back, quoted, rows_of_all_tables

MAKE_ROWS = {"tests.conftest", "tests.services.conftest"}
MAKE_NONE = {"phone_of"}  # gives a function, which makes rows when the test calls it
FEWEST = 4  # fixtures; fewer are made as soon as put back
PUT_BACK = pytest.StashKey["Following | None"]()
SEEN: Counter[tuple] = Counter()
KEPT: dict[tuple, "KeptRows"] = {}


@dataclass(frozen=True, slots=True)
class KeptRows:
    """Rows by table, and what the fixtures gave."""

    rows: dict[str, list[tuple]]
    things: bytes

    def finds_room(self):
        """Say whether all tables of the rows are empty."""
        asked = " OR ".join(f"EXISTS (SELECT 1 FROM {quoted(table)})" for table in self.rows)  # noqa: S608
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {asked}")
            return not cursor.fetchone()[0]


@dataclass(slots=True)
class Following:
    """The fixtures that follow one another in a test, and what stood in the book before them."""

    names: tuple[str, ...]
    key: tuple
    before: dict[str, list[tuple]]

    def keep(self, known):
        """Keep what they made, unless a table had rows before or a thing is no plain one."""
        rows = {}
        for table, found in rows_of_all_tables().items():
            if found != self.before[table]:
                if self.before[table]:
                    return
                rows[table] = found
        things = {name: known[name][-1].cached_result[0] for name in self.names}
        KEPT[self.key] = KeptRows(rows, pickle.dumps(things))


def is_of_tests(fixture):
    ours = fixture.func.__module__.startswith("tests.") or fixture.baseid.startswith("tests/")
    return ours and fixture.scope == "function"


def layers(known, name):
    """Yield the definitions of a name of which one asks for the next, the last one first."""
    for fixture in reversed(known[name]):
        yield fixture
        if name not in fixture.argnames:
            return


def makes_rows(known, name):
    """Say whether a name makes rows and nothing else: it asks for the book and for such alone."""
    if name == "db":
        return True
    return name in known and all(
        fixture.func.__module__ in MAKE_ROWS
        and fixture.scope == "function"
        and fixture.argnames
        and not fixture.params
        and not inspect.isgeneratorfunction(fixture.func)
        and all(makes_rows(known, each) for each in fixture.argnames if each != name)
        for fixture in layers(known, name)
    )


def in_order(item, known):
    """Yield the names of a test's fixtures in the order in which they are set up."""
    seen = set()

    def walked(name):
        if name in seen or name not in known:
            return
        seen.add(name)
        for fixture in reversed([*layers(known, name)]):
            for each in fixture.argnames:
                yield from walked(each)
        yield name

    for name in item.fixturenames:
        yield from walked(name)


def following(item):
    """Return the fixtures that make rows, one after another with nothing of the tests between.

    Before them only what stops the clock may stand, or what is set for every test.
    """
    known, found = item._fixtureinfo.name2fixturedefs, []
    for name in in_order(item, known):
        fixture = known[name][-1]
        if name == "db" or name in MAKE_NONE or not is_of_tests(fixture):
            continue
        if makes_rows(known, name):
            found.append(name)
        elif found:
            break
        elif fixture.func.__module__ != "tests.conftest" and not stops_the_clock(fixture):
            return ()
    return tuple(found) if len(found) >= FEWEST else ()


def stops_the_clock(fixture):
    return inspect.isgeneratorfunction(fixture.func) and not fixture.argnames


def begin(item, names):
    """Put back what these fixtures would make, or note what stands before they make it."""
    known = item._fixtureinfo.name2fixturedefs
    hour = datetime.now(UTC) if time_machine.escape_hatch.is_travelling() else None
    roles = tuple(Group.objects.order_by("pk").values_list("pk", "name"))
    key = (names, *(known[name][-1] for name in names), hour, roles)
    SEEN[key] += 1
    kept = KEPT.get(key)
    if kept is not None and kept.finds_room():
        put_rows_back(kept.rows)
        item.stash[GIVEN] = pickle.loads(kept.things)  # noqa: S301 - what this process wrote
    elif SEEN[key] == 2:
        return Following(names, key, rows_of_all_tables())
    return None


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_fixture_setup(fixturedef, request):
    """Look at the first fixture that makes rows, and keep what was made after the last."""
    item, name = request.node, fixturedef.argname
    if fixturedef.scope != "function" or not connection.in_atomic_block:
        return (yield)
    known = item._fixtureinfo.name2fixturedefs
    if PUT_BACK not in item.stash and name in known and makes_rows(known, name) and name != "db":
        names = () if "book" in item.fixturenames else following(item)
        item.stash[PUT_BACK] = begin(item, names) if names[:1] == (name,) else None
    made = yield
    now_kept = item.stash.get(PUT_BACK, None)
    if now_kept and name == now_kept.names[-1] and fixturedef is known[name][-1]:
        item.stash[PUT_BACK] = None
        now_kept.keep(known)
    return made
