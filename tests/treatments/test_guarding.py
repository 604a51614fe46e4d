"""Kept records and ledger lines are neither changed nor removed, by whichever way."""

import pytest
from django.contrib.auth.models import Group
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from clients.access import Role
from treatments.guarding import check_guards, guards_in_place, trigger_names
from treatments.models import ApplicationRecord, StockEntry
from treatments.recording import record_application

ON_SQLITE = pytest.mark.skipif("connection.vendor != 'sqlite'")
ON_POSTGRESQL = pytest.mark.skipif("connection.vendor != 'postgresql'")
TABLES = ["treatments_applicationrecord", "treatments_stockentry"]


@pytest.fixture
def record(stated):
    return record_application(**stated)


def run(sql, *arguments):
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, arguments)


def test_a_kept_record_is_not_saved_again(record):
    record.note = "changed"

    with pytest.raises(ValidationError, match="add another that corrects it"):
        record.save()


def test_a_kept_record_is_not_removed(record):
    with pytest.raises(ValidationError):
        record.delete()


def test_a_ledger_line_is_neither_saved_again_nor_removed(record):
    entry = record.stock_entries.get()

    with pytest.raises(ValidationError):
        entry.save()
    with pytest.raises(ValidationError):
        entry.delete()


@pytest.mark.parametrize("model", [ApplicationRecord, StockEntry])
def test_many_rows_are_not_changed_or_removed_at_once(record, model):
    with pytest.raises(ValidationError):
        model.objects.update(note="changed")
    with pytest.raises(ValidationError):
        model.objects.all().delete()


def test_rows_written_in_bulk_are_not_changed(record):
    record.note = "changed"

    with pytest.raises((DatabaseError, ValidationError)), transaction.atomic():
        ApplicationRecord.objects.bulk_update([record], ["note"])

    record.refresh_from_db()
    assert record.note == ""


def test_an_insert_that_would_overwrite_is_refused(record):
    entry = record.stock_entries.get()
    entry.note = "changed"

    with pytest.raises(DatabaseError), transaction.atomic():
        StockEntry.objects.bulk_create(
            [entry], update_conflicts=True, unique_fields=["id"], update_fields=["note"]
        )


@pytest.mark.parametrize("table", TABLES)
def test_a_statement_past_the_models_changes_nothing(record, table):
    with pytest.raises(DatabaseError):
        run(f"UPDATE {table} SET note = 'changed'")  # noqa: S608
    with pytest.raises(DatabaseError):
        run(f"DELETE FROM {table}")  # noqa: S608


@ON_SQLITE
@pytest.mark.parametrize("table", TABLES)
def test_a_replacing_insert_is_refused_even_without_recursive_triggers(record, table):
    # REPLACE INTO walks past a delete trigger unless recursive_triggers is on
    run("PRAGMA recursive_triggers=OFF")

    with pytest.raises(DatabaseError, match="is not replaced"):
        run(f"REPLACE INTO {table} SELECT * FROM {table}")  # noqa: S608


@ON_POSTGRESQL
@pytest.mark.parametrize("table", TABLES)
def test_a_table_is_not_emptied(record, table):
    run("SET CONSTRAINTS ALL IMMEDIATE")  # what waits for the commit would be refused first

    with pytest.raises(DatabaseError, match="neither changed nor removed"):
        run(f"TRUNCATE {table} CASCADE")


def test_all_triggers_stand(db):
    assert guards_in_place() == trigger_names(connection.vendor)
    assert check_guards(databases=["default"]) == []


def test_triggers_that_were_lost_come_back_with_migrate(db):
    drop_one()
    assert [error.id for error in check_guards(databases=["default"])] == ["treatments.E001"]

    call_command("migrate", verbosity=0)

    assert check_guards(databases=["default"]) == []


def drop_one():
    name = "treatments_stockentry_no_update"
    on_table = " ON treatments_stockentry" if connection.vendor == "postgresql" else ""
    run(f"DROP TRIGGER {name}{on_table}")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("time", ["first", "second"])
def test_a_transactional_test_leaves_no_row_all_roles_and_no_gap_in_the_guards(stated, time):
    assert ApplicationRecord.objects.count() == 0
    assert guards_in_place() == trigger_names(connection.vendor)
    assert set(Group.objects.values_list("name", flat=True)) == set(Role.values)

    record_application(**stated)
