"""The lists of records are looked up by key, whatever SQLite was told of how many there are."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework import serializers

from clients.models import Planting, Property
from treatments.api.records import ApplicationRecordSerializer
from treatments.models import ApplicationRecord
from treatments.recording import amend_application, record_application

TABLE = ApplicationRecord._meta.db_table
ONE_A_KEY, A_FEW, ALL_ALIKE = "1000000 1", "1000000 50", "1000000 1000000"
LISTS = ["/records/", "/api/v1/records/"]


@pytest.fixture
def record(stated):
    """A record of soap on the roses."""
    return record_application(**stated)


@pytest.fixture
def told_of_a_million():
    """Let SQLite believe that there are a million records, told how seldom one amends another."""

    def tell(amending):
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
            for model in (ApplicationRecord, Planting, Property):
                table = model._meta.db_table
                cursor.execute("DELETE FROM sqlite_stat1 WHERE tbl = %s", [table])
                for name, columns in indexes(cursor, table):
                    told = amending if columns == ["amends_id"] else ONE_A_KEY
                    row = [table, name, told + " 1" * (len(columns) - 1)]
                    cursor.execute("INSERT INTO sqlite_stat1 VALUES (%s, %s, %s)", row)
            cursor.execute("ANALYZE sqlite_master")

    return tell


def indexes(cursor, table):
    """Return the indexes of a table with their columns."""
    names = [row[1] for row in cursor.execute(f"PRAGMA index_list({table})").fetchall()]
    return [
        (name, [row[2] for row in cursor.execute(f"PRAGMA index_info({name})").fetchall()])
        for name in names
    ]


def plans(seen):
    """Return the lines of the plans of the queries that read records, counts left out."""
    read = [each["sql"] for each in seen if f'FROM "{TABLE}"' in each["sql"]]
    with connection.cursor() as cursor:
        return [
            line[3]
            for sql in read
            if "COUNT(*)" not in sql
            for line in cursor.execute(f"EXPLAIN QUERY PLAN {sql}").fetchall()
        ]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL counts empty keys by itself")
@pytest.mark.parametrize("address", LISTS)
@pytest.mark.parametrize("amending", [ONE_A_KEY, A_FEW, ALL_ALIKE])
def test_no_count_of_the_table_makes_a_list_read_it(
    client, owner, record, told_of_a_million, amending, address
):
    told_of_a_million(amending)
    client.force_login(owner)

    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200

    told = plans(seen)
    assert any("record_done_number" in line for line in told)
    assert [line for line in told if "AUTOMATIC" in line or re.match(r"SCAN \S+$", line)] == []


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL counts empty keys by itself")
def test_the_check_knows_a_list_that_reads_the_table(record, told_of_a_million):
    told_of_a_million(ALL_ALIKE)

    with CaptureQueriesContext(connection) as seen:
        list(ApplicationRecord.objects.select_related("amended_by")[:50])

    assert any("AUTOMATIC" in line or re.match(r"SCAN \S+$", line) for line in plans(seen))


def test_a_list_tells_by_number_what_amends_what(client, api, owner, record):
    second = amend_application(record, reason="measured again", by=owner, product_amount=8)
    api.force_authenticate(owner)
    client.force_login(owner)

    rows = {row["number"]: row for row in api.get("/api/v1/records/").json()["results"]}
    page = client.get("/records/").content.decode()

    assert rows[record.number]["amended_by"] == second.number
    assert rows[second.number]["amends"] == record.number
    assert f"amended by {second.number}" in page
    assert f"amends {record.number}" in page


@pytest.mark.parametrize("is_listed", [False, True])
def test_a_record_is_told_as_rest_framework_tells_it(rf, owner, record, is_listed):
    request = rf.get("/")
    request.user = owner
    rows = ApplicationRecord.objects.with_neighbours() if is_listed else ApplicationRecord.objects
    quick = ApplicationRecordSerializer(rows.get(), context={"request": request})

    plain = serializers.ModelSerializer.to_representation(quick, quick.instance)

    assert list(quick.data.items()) == list(plain.items())
