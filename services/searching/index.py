"""The index in which words are looked for, kept by triggers on both databases.

SQLite has a table of FTS5, PostgreSQL one of tsvectors under a GIN index for each kind.  A row is
known by its kind and id in one number, so that the rows of a kind lie together, the newest last.
Whatever writes a client, a record or a lot, models or bare SQL, writes its words in the same
transaction; what is removed, blanked or disposed of leaves with it.  Marks stand among the words:
of which property a row is, of which jurisdiction and month a record, so that a search within what
somebody may see asks the index alone.
"""

from collections.abc import Sequence

from django.core.checks import Error, Tags, register
from django.db import connections

from services.searching.statements import (
    ALL,
    PRODUCTS,
    TABLE,
    Sought,
    postgresql_triggers,
    rebuild_statements,
    sqlite_triggers,
    table_statements,
)


def install_index(using: str = "default", **signal) -> None:
    """Put table and triggers in place; a kind whose triggers were gone is written anew."""
    connection = connections[using]
    vendor = connection.vendor
    with connection.cursor() as cursor:
        known = set(connection.introspection.table_names(cursor))
        if not {each.table for each in ALL} | {PRODUCTS, "treatments_disposal"} <= known:
            return
        for statement in table_statements(vendor):
            cursor.execute(statement)
        standing = triggers_in_place(using)
        for each in ALL:
            is_whole = set(_triggers(each, vendor)) <= standing
            for statement in _making(each, vendor):
                cursor.execute(statement)
            if not is_whole:
                for statement in rebuild_statements(each, vendor):
                    cursor.execute(statement)


def _triggers(sought: Sought, vendor: str) -> Sequence[str]:
    made = postgresql_triggers(sought) if vendor == "postgresql" else sqlite_triggers(sought)
    return list(made)


def _making(sought: Sought, vendor: str) -> list[str]:
    if vendor == "postgresql":
        return [each for made in postgresql_triggers(sought).values() for each in made]
    return [
        statement
        for name, rest in sqlite_triggers(sought).items()
        for statement in (f"DROP TRIGGER IF EXISTS {name}", f"CREATE TRIGGER {name} {rest}")
    ]


def triggers_in_place(using: str = "default") -> set[str]:
    """Return the names of the triggers that stand in the database now."""
    connection = connections[using]
    catalogue = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        return {name for (name,) in cursor.fetchall()}


def tidy(using: str = "default") -> None:
    """Have words that left the index leave its pages too; after something was disposed of.

    SQLite keeps the words of removed rows until its parts are merged.  PostgreSQL's own vacuum
    does so by itself.
    """
    connection = connections[using]
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute(f"INSERT INTO {TABLE}({TABLE}) VALUES ('optimize')")


@register(Tags.database)
def check_index(app_configs=None, databases=None, **options) -> list[Error]:
    """Refuse a database whose words are not kept; an empty one is not migrated yet."""
    errors = []
    for alias in databases or []:
        connection = connections[alias]
        with connection.cursor() as cursor:
            if TABLE not in connection.introspection.table_names(cursor):
                continue
        wanted = {name for each in ALL for name in _triggers(each, connection.vendor)}
        missing = wanted - triggers_in_place(alias)
        if missing:
            errors.append(
                Error(
                    f"The triggers that keep what is searched are missing: {sorted(missing)}.",
                    hint="Run manage.py migrate, which puts them back and writes the index anew.",
                    id="services.E001",
                )
            )
    return errors
