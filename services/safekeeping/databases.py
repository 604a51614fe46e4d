"""Copies whole databases, and looks into a copy as if it were the book."""

import os
import secrets
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.db import connection, transaction
from django.utils.translation import gettext as _

from services.safekeeping.sealing import CannotKeep, NoBackup

SQLITE_FILE, POSTGRES_FILE = "database.sqlite3", "database.dump"
DUMPED = ("--format=custom", "--no-owner", "--no-acl")


def database_file() -> str:
    """Return the name that the database has within a backup of this kind of book."""
    return SQLITE_FILE if connection.vendor == "sqlite" else POSTGRES_FILE


def copy_database(into: Path) -> Path:
    """Write a copy of the database as it stands at one moment; others may go on writing."""
    copy = into / database_file()
    if connection.vendor == "sqlite":
        _copy_sqlite(str(connection.settings_dict["NAME"]), str(copy))
    else:
        _run("pg_dump", *DUMPED, f"--file={copy}")
    return copy


@contextmanager
def copied(into: Path) -> Iterator[Path]:
    """Write such a copy, and let everything that asks the book see the same moment meanwhile."""
    if connection.vendor == "sqlite":
        copy = copy_database(into)
        with copy_opened(copy):
            yield copy
        return
    copy = into / POSTGRES_FILE
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SET LOCAL idle_in_transaction_session_timeout = 0")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        _run("pg_dump", *DUMPED, f"--snapshot={snapshot}", f"--file={copy}")
        yield copy


@contextmanager
def copy_opened(copy: Path) -> Iterator[None]:
    """Let everything that asks the book ask a copy of it instead."""
    if connection.vendor == "sqlite":
        with _named(str(copy)):
            yield
        return
    name = f"{connection.settings_dict['NAME']}_copy_{secrets.token_hex(4)}"
    with _server() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    try:
        with _named(name):
            _run(
                "pg_restore", "--no-owner", "--no-acl", "--exit-on-error", f"--dbname={name}", copy
            )
            yield
    finally:
        with _server() as cursor:
            cursor.execute(f'DROP DATABASE IF EXISTS "{name}"')


def put_in_place(copy: Path) -> None:
    """Put a copy in the place of the book's database: the whole of it or, if that fails, nothing.

    Whoever looks meanwhile sees the former book until the very end.
    """
    if connection.vendor == "sqlite":
        connection.close()
        _copy_sqlite(str(copy), str(connection.settings_dict["NAME"]))
        return
    name = str(connection.settings_dict["NAME"])
    connection.close()
    _run(
        "pg_restore",
        "--clean",
        "--if-exists",
        "--no-owner",
        "--no-acl",
        "--single-transaction",
        f"--dbname={name}",
        copy,
    )
    count_rows()


def count_rows() -> None:
    """Have PostgreSQL count what its plans go by; it does so by itself only after a while.

    Until then it takes tables for empty, and a page may take minutes.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _copy_sqlite(source: str, target: str) -> None:
    """Copy by the backup API in one step, which SQLite makes one transaction of the target."""
    try:
        with closing(sqlite3.connect(source)) as read, closing(sqlite3.connect(target)) as written:
            written.execute("PRAGMA synchronous=FULL")
            read.backup(written)
            found = written.execute("PRAGMA integrity_check").fetchone()[0]
    except sqlite3.DatabaseError as error:
        raise NoBackup(_("The database cannot be copied: %(why)s") % {"why": error}) from error
    if found != "ok":
        raise NoBackup(_("The database cannot be copied: %(why)s") % {"why": found})


@contextmanager
def _named(name: str) -> Iterator[None]:
    connection.close()
    usual = connection.settings_dict
    # A dictionary of its own: all threads share the usual one, and they go on with the book.
    connection.settings_dict = {**usual, "NAME": name}
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict = usual


def _server():
    """Return a cursor that is in no database of ours, as Django's own tests use it."""
    return connection._nodb_cursor()


def _run(program: str, *words: str | Path) -> None:
    """Run a program of PostgreSQL on the book's server; raise CannotKeep where it fails."""
    settings = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    environment = {name: str(settings[key]) for name, key in names.items() if settings.get(key)}
    environment["PGDATABASE"] = str(settings["NAME"])
    try:
        done = subprocess.run(
            [program, *map(str, words)],
            env=os.environ | environment,
            capture_output=True,
            text=True,
            check=False,
        )
    except FileNotFoundError as error:
        raise CannotKeep(
            _("The program %(program)s is missing: install the client tools of PostgreSQL.")
            % {"program": program}
        ) from error
    if done.returncode:
        raise CannotKeep(f"{program}: {done.stderr.strip()[-600:]}")
