"""How many rows a second of a file are looked at and kept, beside bare rows written in bulk.

Run by name: `pytest tests/benchmarks/bench_bringing.py -s`; it takes a minute.  A bare row is a
client that is only written.  Ours is read, held against the book and shown, then read again and
kept so that it can be undone.  What is told is seconds of this process's processor, with PostgreSQL
the clock's.
"""

import tracemalloc
from datetime import UTC, datetime
from time import perf_counter, process_time

import pytest
from django.db import connection, transaction

from clients.models import Client
from services import bringing
from services.bringing import Sent

ROWS = 5_000
OF_BARE = 0.15  # our own choice: each row is read twice and looked for in the book
MOST_MEMORY = 100e6  # bytes beyond what the process held
NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


def file_of(word):
    lines = (
        f"{word} {n},{n} Invented Street,Nowhere,PA,00000,555-0100,{word}{n}@example.org\r\n"
        for n in range(ROWS)
    )
    return ("name,street,city,region,postal code,phone,email\r\n" + "".join(lines)).encode()


def bare(word):
    """Write as many clients as the file has, and nothing else."""
    with transaction.atomic():
        Client.objects.bulk_create(
            [
                Client(
                    name=f"{word} {n}",
                    street=f"{n} Invented Street",
                    city="Nowhere",
                    region="PA",
                    postal_code="00000",
                    phone="555-0100",
                    email=f"{word}{n}@example.org",
                )
                for n in range(ROWS)
            ],
            batch_size=500,
        )


def brought(word, by):
    """Look at a file, confirm what it would do, and keep it."""
    sent = Sent("clients", "clients.csv", file_of(word))
    row = bringing.ask(sent, by=by, language="en", now=NOW)
    bringing.run_bringing(row.pk, now=NOW)
    row.refresh_from_db()
    assert bringing.confirm(row, now=NOW)
    bringing.run_bringing(row.pk, now=NOW)


def seconds_of(act):
    clock = process_time if connection.vendor == "sqlite" else perf_counter
    start = clock()
    act()
    return clock() - start


def test_rows_of_a_file_beside_bare_rows(owner, record_property):
    ours = seconds_of(lambda: brought("ours", owner))
    assert Client.objects.count() == ROWS
    least = seconds_of(lambda: bare("bare"))
    tracemalloc.start()
    brought("more", owner)
    _, held = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert Client.objects.count() == 3 * ROWS

    print(  # noqa: T201
        f"\n{ROWS / ours:,.0f} rows a second looked at and kept, {ROWS / least:,.0f} bare: "
        f"{least / ours:.3f} of the rate; {held / 1e6:.0f} MB held at most"
    )
    record_property("rows of a file, beside bare rows", OF_BARE * ours / least)
    record_property("a file of 5,000 rows, in memory", held / MOST_MEMORY)
    assert least / ours >= OF_BARE
    assert held < MOST_MEMORY
