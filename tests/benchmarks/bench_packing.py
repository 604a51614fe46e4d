"""What a package of records holds in memory at once, few records beside many, in one run.

Run by name: `pytest tests/benchmarks/bench_packing.py -s`; it takes a minute.  The book is filled
with copies of one invented record; memory is the most that the process ever held (Linux counts it
in kilobytes), so the few are packed before the many.
"""

import resource
from datetime import UTC, datetime
from time import process_time

import pytest

from services import packing
from services.packing import Wanted, package
from tests.benchmarks.bench_journal import fill
from treatments.recording import record_application

FEW, MANY = 20, 100
NOW = datetime(2026, 7, 20, 12, tzinfo=UTC)

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


def packed(count):
    """Pack the first records; return the bytes, the most memory at once, and the seconds."""
    wanted = Wanted(range(1, count + 1), "en", NOW, with_notes=True)
    start = process_time()
    size = sum(map(len, package(wanted)))
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return size, most, process_time() - start


def test_five_times_the_records_are_packed_in_the_same_memory(stated, monkeypatch, record_property):
    record = record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))
    fill(record, 2, MANY + 1)
    monkeypatch.setattr(packing, "ON_ONE_PAPER", 10)
    packed(1)  # faces and catalogues are loaded once

    few, many = packed(FEW), packed(MANY)

    for count, (size, most, seconds) in ((FEW, few), (MANY, many)):
        print(f"{count} records: {size / 1e6:.1f} MB, {most / 1e6:.1f} MB at once, {seconds:.0f} s")  # noqa: T201
    assert many[0] > 3 * few[0]
    record_property("a hundred records packed, in the memory of twenty", many[1] / (1.1 * few[1]))
    assert many[1] < 1.1 * few[1]
