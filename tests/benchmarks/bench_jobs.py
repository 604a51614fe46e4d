"""How many jobs a second a worker does, each a row that no crash loses, beside tasks of nothing.

Run by name with BROKER_URL: `pytest tests/benchmarks/bench_jobs.py -s`; it takes a minute.  All go
through the same broker to the same worker of one process.  A job is taken under a lease, marked
before and after its letter, which here goes nowhere; beside it stands a task that marks its row in
one statement, and one that does nothing at all.  What is told goes by the worker's own seconds of
processor and by the clock: of each the middle one of some rounds.
"""

import os
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from services.models import Outbox
from services.project.celery import app
from tests.journeys.workers import ROOT, SLIM, surroundings

JOBS, ROUNDS = 150, 3
OF_DURABLE, OF_NOTHING = 0.5, 0.5
PATIENCE = 120  # s
TICKS = os.sysconf("SC_CLK_TCK")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.needs_broker,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not settings.BROKER_URL, reason="BROKER_URL is not set"),
]


@pytest.fixture
def worker(tmp_path):
    """Start a worker of one process that takes from every queue."""
    if connection.vendor == "sqlite":
        (tmp_path / "duskbook.sqlite3").symlink_to(connection.settings_dict["NAME"])
    app.control.purge()
    words = ["-m", "celery", "-A", "tests.benchmarks.jobs_app", "worker", "--pool=solo", *SLIM]
    with (
        (tmp_path / "worker.log").open("w") as log,
        subprocess.Popen(
            [sys.executable, *words, f"--hostname=bench-{os.getpid()}"],
            cwd=ROOT,
            env=os.environ | surroundings(tmp_path),
            stdout=log,
            stderr=log,
        ) as process,
    ):
        yield process
        process.terminate()


def rows():
    """Put as many jobs in the outbox as a round has."""
    Outbox.objects.all().delete()
    return Outbox.objects.bulk_create(
        Outbox(
            kind=Outbox.Kind.CREW_SHEET,
            dedupe_key=f"bench {number}",
            not_before=timezone.now(),
        )
        for number in range(JOBS)
    )


def processor_of(process):
    told = Path(f"/proc/{process.pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(told[11]) + int(told[12])) / TICKS


def round_of(worker, task, with_row):
    """Send a round of tasks at once; return the worker's seconds of processor, and the clock's."""
    last = rows()[-1]
    with app.producer_pool.acquire(block=True) as producer:
        app.send_task("services.tasks.sweep_exports", producer=producer)  # wakes the worker
        began, used = time.perf_counter(), processor_of(worker)
        for row in Outbox.objects.order_by("pk")[: JOBS - 1]:
            app.send_task(task, [row.pk] if with_row else [], producer=producer, queue="outside")
        app.send_task(MARK, [last.pk], producer=producer, queue="outside")
        await_done(last)
    return processor_of(worker) - used, time.perf_counter() - began


def await_done(row):
    for _ in range(PATIENCE * 50):
        row.refresh_from_db()
        if row.done_at:
            return
        time.sleep(0.02)
    raise AssertionError("The last job was never done.")


MARK = "tests.benchmarks.jobs_app.mark_done"
KINDS = {
    "nothing": ("tests.benchmarks.jobs_app.nothing", False),
    "a row marked": (MARK, True),
    "a job": ("services.tasks.deliver_outbox", True),
}


def test_jobs_beside_tasks_of_nothing(worker, record_property):
    round_of(worker, *KINDS["a job"])  # warm
    assert Outbox.objects.filter(done_at__isnull=True).count() == 0
    found = {name: [] for name in KINDS}
    for _ in range(ROUNDS):
        for name, kind in KINDS.items():
            found[name].append(round_of(worker, *kind))

    used = {name: median(each[0] for each in told) for name, told in found.items()}
    clock = {name: median(each[1] for each in told) for name, told in found.items()}
    print(f"\n{connection.vendor}, {settings.BROKER_URL.split(':')[0]}:")  # noqa: T201
    for name in KINDS:
        print(  # noqa: T201
            f"  {name}: {JOBS / used[name]:,.0f} a second of processor, "
            f"{JOBS / clock[name]:,.0f} by the clock"
        )
    record_property("jobs, beside rows marked", OF_DURABLE * used["a job"] / used["a row marked"])
    record_property("jobs, beside tasks of nothing", OF_NOTHING * used["a job"] / used["nothing"])
    assert used["a row marked"] / used["a job"] >= OF_DURABLE
