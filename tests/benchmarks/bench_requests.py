"""What a page and a list of the API take beside bare ones of the same rows.

Run by name: `pytest tests/benchmarks/bench_requests.py -s`; the list of a million records takes
minutes and some gigabytes.  Requests are made one of each in turn, within one process and run; what
is told is seconds of this process's processor, with PostgreSQL the clock's.

A bare page (plain_pages.py) shows as many rows of the same cells, by the same template engine, with
no other work than reading them; it has no frame, form or margin about its table, and stands behind
the middleware of a new project, fewer than ours.  A bare list of the API gives the same fields, and
nothing is worked out for them; what stands beside a record it reads by joins, as one does.  Both
are asked as a server asks them: each has its middleware loaded once, and no setting changes between
requests, after which templates and addresses would be read anew.
Each round asks from a little further down (further_down.py).
"""

import json
from datetime import UTC, datetime
from time import perf_counter, process_time

import pytest
import time_machine
from django.db import connection, transaction
from django.test import Client, RequestFactory, override_settings
from django.test.client import ClientHandler

from tests.benchmarks import plain_pages
from tests.benchmarks.bench_findings import week_of
from tests.benchmarks.further_down import further_down
from tests.services.conftest import course, crew, oil_lot, rotation, visits
from treatments.models import ApplicationRecord
from treatments.recording import record_application

__all__ = ["course", "crew", "oil_lot", "rotation", "visits"]  # fixtures of the schedule

FEW, MANY, BATCH = 10_000, 1_000_000, 20_000
ROUNDS = 60
FURTHER = 2  # calls further down each round; all rounds together pass a whole piece of the stack
PAGE, API, LONGER = 0.6, 0.8, 1.3  # of the bare one's rate, and p95 among many beside among few
TABLE = ApplicationRecord._meta.db_table
EARLIER = {
    "sqlite": "strftime('%%Y-%%m-%%d %%H:%%M:%%S', r.{0}, '-' || n.number || ' minutes')",
    "postgresql": "r.{0} - n.number * interval '1 minute'",
}

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def as_often_as_asked(settings):
    """Let one person ask as often as a benchmark does."""
    rates = {"user": "1000000/min", "anon": "1000000/min"}
    from rest_framework.throttling import SimpleRateThrottle

    before, SimpleRateThrottle.THROTTLE_RATES = SimpleRateThrottle.THROTTLE_RATES, rates
    yield
    SimpleRateThrottle.THROTTLE_RATES = before


@pytest.fixture
def record(stated):
    return record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))


def copied(column):
    """Return what stands in a copy's column: its own number, and moments of its own."""
    if column.column == "number":
        return "n.number"
    if column.get_internal_type() == "DateTimeField":
        return EARLIER[connection.vendor].format(column.column)
    return f"r.{column.column}"


def fill(record, first, last):
    """Put copies of a record in the book, each a minute after the one before, by fast means."""
    columns = [each for each in ApplicationRecord._meta.concrete_fields if each.column != "id"]
    names = ", ".join(each.column for each in columns)
    told = ", ".join(copied(each) for each in columns)
    for start in range(first, last + 1, BATCH):
        end = min(start + BATCH - 1, last)
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(
                f"INSERT INTO {TABLE} ({names}) "  # noqa: S608
                f"WITH RECURSIVE n(number) AS (SELECT {start} UNION ALL SELECT number + 1 FROM n "
                f"WHERE number < {end}) SELECT {told} FROM n, {TABLE} r WHERE r.id = %s",
                [record.pk],
            )
    if connection.vendor == "postgresql":  # which plans by what it knows, and looks now and then
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


class Door:
    """A way in for somebody who has signed in, behind middleware that is loaded once."""

    def __init__(self, person, middleware=None):
        browser = Client()
        browser.force_login(person)
        self.asking = RequestFactory()
        self.asking.cookies = browser.cookies
        self.handler = ClientHandler(enforce_csrf_checks=False)
        with override_settings(**({"MIDDLEWARE": middleware} if middleware else {})):
            self.handler.load_middleware()

    def ask(self, address):
        """Ask once; return the seconds it took, and the answer."""
        clock = process_time if connection.vendor == "sqlite" else perf_counter
        environ = self.asking.get(address).environ
        start = clock()
        answer = self.handler(environ)
        took = clock() - start
        assert answer.status_code == 200, address
        return took, answer


def side_by_side(owner, ours, plain, alike):
    """Ask for both in turn; return the sorted seconds of each.

    alike: tells of an answer what must be the same in both
    """
    doors = (Door(owner), ours), (Door(owner, plain_pages.MIDDLEWARE), plain)
    first, second = (alike(door.ask(address)[1]) for door, address in doors)
    assert first == second
    took = [], []
    for number in range(ROUNDS + 5):
        pair = [further_down(FURTHER * number, each.ask, address)[0] for each, address in doors]
        if number >= 5:
            for found, seconds in zip(took, pair, strict=True):
                found.append(seconds)
    return sorted(took[0]), sorted(took[1])


def cells_in(answer):
    """Return how many rows and cells the first table of a page has."""
    table = answer.content.partition(b"<table")[2].partition(b"</table>")[0]
    return [table.count(mark) for mark in (b"</tr>", b"</th>", b"</td>", b"</svg>")]


def fields_in(answer):
    """Return the fields of each row that a list of the API gives."""
    return [list(row) for row in json.loads(answer.content)["results"]]


def told(what, ours, plain, least, record_property):
    """Tell and hold what share of the bare one's rate ours has."""
    share = plain[ROUNDS // 2] / ours[ROUNDS // 2]
    print(  # noqa: T201
        f"\n{what}, {connection.vendor}: {1000 * ours[ROUNDS // 2]:.1f} ms (p95 "
        f"{1000 * p95(ours):.1f}), bare {1000 * plain[ROUNDS // 2]:.1f} ms: {share:.2f} of its rate"
    )
    record_property(f"{what}, beside a bare one", least / share)
    return share


def p95(took):
    return took[int(0.95 * len(took))]


def test_the_page_of_a_week_of_200_visits(
    visits, soap_lot, oil_lot, calibration, crew, rose_bed, rotation, owner, record_property
):
    week_of(199, rose_bed, rotation, owner)
    with time_machine.travel(datetime(2026, 7, 6, 14, tzinfo=UTC), tick=False):
        both = side_by_side(owner, "/week/", "/week/", cells_in)

    share = told("the page of a week of 200 visits", *both, PAGE, record_property)
    assert share >= PAGE


def test_the_register_of_records_and_its_list_by_program(record, owner, record_property):
    shares, longest, filled = {}, {}, 2
    for size in (FEW, MANY):
        fill(record, filled, size)
        filled = size + 1
        page = side_by_side(owner, "/records/", "/records/", cells_in)
        listed = side_by_side(owner, "/api/v1/records/", "/api/records/", fields_in)
        for what, both, least in (("records", page, PAGE), ("the API's records", listed, API)):
            name = f"{what} among {size:,}"
            shares[name] = told(name, *both, least, record_property), least
            longest[what, size] = p95(both[0])

    for what in ("records", "the API's records"):
        longer = longest[what, MANY] / longest[what, FEW]
        print(f"{what}: p95 among {MANY:,} is {longer:.2f} of that among {FEW:,}")  # noqa: T201
        record_property(f"p95 of {what} among {MANY:,}", longer / LONGER)
    assert all(share >= least for share, least in shares.values()), shares
    for what in ("records", "the API's records"):
        assert longest[what, MANY] <= LONGER * longest[what, FEW], what
