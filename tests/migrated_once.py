"""Of several processes that test beside one another the first migrates, and hands on copies.

A copy is the one that Django's own parallel tests make: of the file on SQLite, from a template on
PostgreSQL.  Whoever got one asks to migrate all the same, and finds nothing left to do; whoever
got none migrates.
"""

import json
import time
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

PATIENCE = 600  # seconds


@dataclass(frozen=True, slots=True)
class Handing:
    """The folder that all processes share, who of them this is, and who the others are."""

    folder: Path
    me: str
    others: list[str]

    def comes_first(self):
        """Say whether nobody asked before."""
        try:
            (self.folder / "migrating").mkdir()
        except FileExistsError:
            return False
        return True

    def told(self):
        """Return where the names of the copies stand once they are made."""
        return self.folder / "copies.json"

    def is_awaited(self):
        """Say whether others still wait for their copies."""
        return not self.told().exists()

    def hand_on(self):
        """Copy the migrated database for each other process; to it nothing may be connected."""
        connection.close()
        names = {}
        for other in self.others:
            connection.creation.clone_test_db(suffix=other, verbosity=0)
            names[other] = connection.creation.get_test_db_clone_settings(other)["NAME"]
        self.say(names)

    def say(self, names):
        """Tell the names of the copies, all at once."""
        written = self.folder / "copies.new"
        written.write_text(json.dumps(names), encoding="utf-8")
        written.replace(self.told())

    def given(self):
        """Wait for the copies, and return the name of the one for this process if there is one."""
        until = time.monotonic() + PATIENCE
        while self.is_awaited() and time.monotonic() < until:
            time.sleep(0.1)
        return json.loads(self.told().read_text(encoding="utf-8")).get(self.me)


@pytest.fixture(scope="session")
def handing(request, tmp_path_factory):
    """What processes that test beside one another agree by; None where one tests alone."""
    told = getattr(request.config, "workerinput", None)
    if told is None or request.config.getvalue("reuse_db"):
        return None
    names = {f"gw{number}" for number in range(told["workercount"])}
    others = sorted(names - {told["workerid"]})
    return Handing(tmp_path_factory.getbasetemp().parent, told["workerid"], others)


@pytest.fixture(scope="session")
def copy_given(handing):
    """The name of the copy that this process was given, or None where it migrates itself."""
    return None if handing is None or handing.comes_first() else handing.given()


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb, copy_given):
    """Begin with a copy as it was given."""
    return django_db_keepdb or copy_given is not None


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    tmp_path_factory, copy_given, django_db_modify_db_settings_parallel_suffix
):
    """Put SQLite's test database in a file: in memory two threads cannot wait for each other."""
    database = settings.DATABASES["default"]
    if copy_given is not None:
        database.setdefault("TEST", {})["NAME"] = copy_given
    elif database["ENGINE"].endswith("sqlite3"):
        file = tmp_path_factory.mktemp("database") / "test.sqlite3"
        database.setdefault("TEST", {})["NAME"] = str(file)


@pytest.fixture(scope="session")
def django_db_setup(request, handing, copy_given, django_db_blocker):
    """Hand copies on once the tables are there; take away the copy that was given at the end."""
    awaited = handing is not None and copy_given is None and handing.is_awaited()
    try:
        request.getfixturevalue("django_db_setup")
    except BaseException:
        if awaited:
            handing.say({})
        raise
    if awaited:
        with django_db_blocker.unblock():
            handing.hand_on()
    yield
    if copy_given is not None:
        with django_db_blocker.unblock():
            connection.creation.destroy_test_db(verbosity=0)
