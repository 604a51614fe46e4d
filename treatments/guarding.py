"""Triggers that keep records and ledger lines as they were written, on both databases.

They stop accidents, also those that walk past the models: raw SQL, REPLACE INTO on SQLite, TRUNCATE
on PostgreSQL.  SQLite drops a table's triggers when a migration rebuilds it, so they are put back
after each migrate.  An owner of the database can still drop them.
"""

from django.core.checks import Error, Tags, register
from django.db import connections

GUARDED = {
    "treatments_applicationrecord": "a kept record",
    "treatments_checkpoint": "a checkpoint",
    "treatments_journalentry": "a journal entry",
    "treatments_correction": "an asked correction",
    "treatments_correctionanswer": "an answer to a correction",
    "treatments_factconfirmed": "a confirmed fact",
    "treatments_ownruleset": "an own rule set",
    "treatments_rulechoice": "a choice of rules",
    "treatments_stockentry": "a stock entry",
}
# What else than its id names a row; an insert that repeats it would replace the row on SQLite.
ALSO_NAMED_BY = {
    "treatments_applicationrecord": ["number"],
    "treatments_checkpoint": ["size"],
    "treatments_correctionanswer": ["correction_id"],
    "treatments_journalentry": ["seq", "entry_id"],
    "treatments_ownruleset": ["key"],
}

SQLITE = {
    "no_update": "BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{noun} is not changed'); END",
    "no_delete": "BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{noun} is not removed'); END",
    # REPLACE INTO deletes without the delete trigger, so what names a row that exists is refused.
    "no_replace": (
        "BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {named}) "
        "BEGIN SELECT RAISE(ABORT, '{noun} is not replaced'); END"
    ),
}

POSTGRESQL = {
    "no_update": "BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION duskbook_row_is_final()",
    "no_delete": "BEFORE DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION duskbook_row_is_final()",
    "no_truncate": (
        "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION duskbook_row_is_final()"
    ),
}

REFUSE_IN_POSTGRESQL = """
CREATE OR REPLACE FUNCTION duskbook_row_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a kept row of % is neither changed nor removed', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def trigger_names(vendor: str) -> set[str]:
    """Return the names of the triggers that must stand in a database of a vendor."""
    kinds = POSTGRESQL if vendor == "postgresql" else SQLITE
    return {f"{table}_{kind}" for table in GUARDED for kind in kinds}


def install_guards(using: str = "default", **signal) -> None:
    """Put the triggers in place, whether or not they were there."""
    connection = connections[using]
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor)) & set(GUARDED)
        if connection.vendor == "postgresql":
            cursor.execute(REFUSE_IN_POSTGRESQL)
        for table in sorted(tables):
            for statement in statements(connection.vendor, table):
                cursor.execute(statement)


def statements(vendor: str, table: str) -> list[str]:
    """Return the SQL that guards one table."""
    if vendor == "postgresql":
        return [
            f"CREATE OR REPLACE TRIGGER {table}_{kind} {rest.format(table=table)}"
            for kind, rest in POSTGRESQL.items()
        ]
    names = ["id", *ALSO_NAMED_BY.get(table, [])]
    words = {
        "table": table,
        "noun": GUARDED[table],
        "named": " OR ".join(f"{name} = NEW.{name}" for name in names),
    }
    made = [(f"{table}_{kind}", rest.format(**words)) for kind, rest in SQLITE.items()]
    return [
        statement
        for name, rest in made
        for statement in (f"DROP TRIGGER IF EXISTS {name}", f"CREATE TRIGGER {name} {rest}")
    ]


def guards_in_place(using: str = "default") -> set[str]:
    """Return the names of the triggers that stand in the database now."""
    connection = connections[using]
    catalogue = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        return {name for (name,) in cursor.fetchall()} & trigger_names(connection.vendor)


@register(Tags.database)
def check_guards(app_configs=None, databases=None, **options) -> list[Error]:
    """Refuse a database whose records are not guarded; an empty one is not migrated yet."""
    return [
        Error(
            f"The triggers that guard records are missing: {', '.join(sorted(missing))}.",
            hint="Run manage.py migrate, which puts them back, then verify the records.",
            id="treatments.E001",
        )
        for alias in databases or []
        if (missing := missing_guards(alias))
    ]


def missing_guards(alias: str) -> set[str]:
    """Return the triggers that a migrated database lacks."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        if not set(GUARDED) <= set(connection.introspection.table_names(cursor)):
            return set()
    return trigger_names(connection.vendor) - guards_in_place(alias)
