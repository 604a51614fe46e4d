"""Triggers that keep records and ledger lines as they were written, on both databases.

They stop accidents, also those that walk past the models: raw SQL, REPLACE INTO on SQLite, TRUNCATE
on PostgreSQL.  SQLite drops a table's triggers when a migration rebuilds it, so they are put back
after each migrate.  An owner of the database can still drop them.

One change is lawful: that what has a disposal is blanked, and the body of its entry taken.
"""

from collections.abc import Iterable
from typing import Any

from django.core.checks import Error, Tags, register
from django.db import connections

from treatments.blanking import is_blanked

GUARDED = {
    "treatments_applicationrecord": "a kept record",
    "treatments_checkpoint": "a checkpoint",
    "treatments_disposal": "a disposal",
    "treatments_entrydisposal": "a disposal",
    "treatments_journalentry": "a journal entry",
    "treatments_copygiven": "a copy given",
    "treatments_correction": "an asked correction",
    "treatments_correctionanswer": "an answer to a correction",
    "treatments_factconfirmed": "a confirmed fact",
    "treatments_ownruleset": "an own rule set",
    "treatments_ownsign": "an own sign",
    "treatments_returnfiled": "a return filed",
    "treatments_rulechoice": "a choice of rules",
    "treatments_inspectorlook": "a look of an inspector",
    "treatments_recordsigned": "a signed record",
    "treatments_signtakendown": "a sign taken down",
    "treatments_spillnote": "a note of a spill",
    "treatments_stockentry": "a stock entry",
}
# What else than its id names a row; an insert that repeats it would replace the row on SQLite.
ALSO_NAMED_BY = {
    "treatments_applicationrecord": ["number"],
    "treatments_checkpoint": ["size"],
    "treatments_copygiven": ["record_id"],
    "treatments_correctionanswer": ["correction_id"],
    "treatments_disposal": ["record_id", "entry_id"],
    "treatments_entrydisposal": ["entry_id"],
    "treatments_journalentry": ["seq", "entry_id"],
    "treatments_ownruleset": ["key"],
    "treatments_recordsigned": ["record_id"],
    "treatments_spillnote": ["form_id"],
    "treatments_stockentry": ["form_id"],
}


# Texts of further tables that go when a row is disposed of, and the noun of their disposals.
BLANKED: dict[str, tuple[str, frozenset[str]]] = {}


def guard(
    table: str, noun: str, *also_named_by: str, disposed_as: str = "", blanked: Iterable[str] = ()
) -> None:
    """Have the rows of a further table kept as they were written; told by the app that owns it.

    also_named_by: columns beside the id that name a row; disposed_as: the noun of its disposals;
    blanked: columns of texts that are blanked when a row is disposed of
    """
    GUARDED[table] = noun
    if also_named_by:
        ALSO_NAMED_BY[table] = list(also_named_by)
    if disposed_as:
        BLANKED[table] = (disposed_as, frozenset(blanked))


SQLITE = {
    "no_update": (
        "BEFORE UPDATE ON {table}{unless} BEGIN SELECT RAISE(ABORT, '{noun} is not changed'); END"
    ),
    "no_delete": "BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{noun} is not removed'); END",
    # REPLACE INTO deletes without the delete trigger, so what names a row that exists is refused.
    "no_replace": (
        "BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {named}) "
        "BEGIN SELECT RAISE(ABORT, '{noun} is not replaced'); END"
    ),
}

POSTGRESQL = {
    "no_update": "BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION {function}()",
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

REFUSE_ALL_BUT_BLANKING = """
CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF {lawful} THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'a kept row of % is neither changed nor removed', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""

DISPOSALS, ENTRY_DISPOSALS = "treatments_disposal", "treatments_entrydisposal"


def trigger_names(vendor: str) -> set[str]:
    """Return the names of the triggers that must stand in a database of a vendor."""
    kinds = POSTGRESQL if vendor == "postgresql" else SQLITE
    return {f"{table}_{kind}" for table in GUARDED for kind in kinds}


def install_guards(using: str = "default", only: str = "", **signal) -> None:
    """Put the triggers in place, whether or not they were there.

    only: a table whose triggers are put in place, all where it is ""
    """
    connection = connections[using]
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor)) & set(GUARDED)
        if connection.vendor == "postgresql":
            cursor.execute(REFUSE_IN_POSTGRESQL)
        can_dispose = {DISPOSALS, ENTRY_DISPOSALS} <= tables
        for table in sorted(tables & {only} if only else tables):
            columns = columns_of(cursor, table)
            lawful = lawful_change(connection.vendor, table, columns) if can_dispose else ""
            for statement in statements(connection.vendor, table, columns, lawful):
                cursor.execute(statement)


def columns_of(cursor: Any, table: str) -> list[str]:
    """Return the names of a table's columns as they are now, in the midst of migrations too."""
    cursor.execute(f"SELECT * FROM {table} WHERE 1 = 0")  # noqa: S608
    return [column[0] for column in cursor.description]


def lawful_change(vendor: str, table: str, columns: list[str]) -> str:
    """Return the SQL for the one change of a row that is let pass, "" where there is none."""
    same = "IS" if vendor == "sqlite" else "IS NOT DISTINCT FROM"
    if table == "treatments_applicationrecord":
        return _if_disposed("record_id = OLD.id", is_blanked(vendor, columns))
    if table == "treatments_journalentry":
        others = [f"NEW.{column} {same} OLD.{column}" for column in columns if column != "body"]
        blanked = " AND ".join(["NEW.body IS NULL", *others])
        of_record = _if_disposed("entry_id = OLD.entry_id", blanked)
        of_other = _if_disposed("entry_id = OLD.entry_id", blanked, ENTRY_DISPOSALS)
        return f"(({of_record}) OR ({of_other}))"
    if table in BLANKED:
        noun, texts = BLANKED[table]
        blanked = " AND ".join(
            f"NEW.{column} = ''" if column in texts else f"NEW.{column} {same} OLD.{column}"
            for column in columns
        )
        return _if_disposed(f"noun = '{noun}' AND number = OLD.id", blanked, ENTRY_DISPOSALS)
    return ""


def _if_disposed(row: str, change: str, disposals: str = DISPOSALS) -> str:
    return f"EXISTS (SELECT 1 FROM {disposals} WHERE {row}) AND {change}"  # noqa: S608


def statements(vendor: str, table: str, columns: list[str], lawful: str = "") -> list[str]:
    """Return the SQL that guards one table.

    columns: those it has by now; the table of an older book lacks some
    lawful: what a change must be to be let pass, "" where none is
    """
    if vendor == "postgresql":
        function = f"{table}_is_final" if lawful else "duskbook_row_is_final"
        making = (
            [REFUSE_ALL_BUT_BLANKING.format(function=function, lawful=lawful)] if lawful else []
        )
        return making + [
            f"CREATE OR REPLACE TRIGGER {table}_{kind} "
            f"{rest.format(table=table, function=function)}"
            for kind, rest in POSTGRESQL.items()
        ]
    names = [name for name in ("id", *ALSO_NAMED_BY.get(table, [])) if name in columns]
    words = {
        "table": table,
        "noun": GUARDED[table],
        "named": " OR ".join(f"{name} = NEW.{name}" for name in names),
        "unless": f" WHEN NOT ({lawful})" if lawful else "",
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
