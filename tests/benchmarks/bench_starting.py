"""How long `manage.py start` takes on a warm environment, and what it holds and uses at rest.

Run by name: `pytest tests/benchmarks/bench_starting.py -s`; it takes a minute, on Linux.  The book
is empty and was served once before.  What is told is the processor's time, which a busy machine
changes little.  PostgreSQL's driver is hidden, as the environment of a book on SQLite has none.
"""

import os
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

ROOT = Path(__file__).resolve().parents[2]
AS_INSTALLED = (
    "import sys, runpy; sys.modules['psycopg'] = None; "
    "runpy.run_path('manage.py', run_name='__main__')"
)
MOST_SECONDS, MOST_BYTES, MOST_OF_A_CORE = 3.0, 150e6, 0.02
REST = 20  # s
TICKS = os.sysconf("SC_CLK_TCK")
KEPT = ("PATH", "HOME", "LANG")

pytestmark = pytest.mark.slow


@contextmanager
def served(data):
    """Serve a book of the folder; give the process once it is ready, and how long it took."""
    kept = {name: os.environ[name] for name in KEPT if name in os.environ}
    began = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-c", AS_INSTALLED, "start", "--port", "0"],
        cwd=ROOT,
        env=kept | {"DUSKBOOK_ENVIRONMENT": "ready", "DUSKBOOK_DATA": str(data)},
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            await_ready(address_told(process))
            yield process, time.perf_counter() - began
        finally:
            process.terminate()
            process.communicate(timeout=60)


def address_told(process):
    for line in process.stdout:
        if line.startswith("Duskbook is at"):
            return line.split()[3]
    raise AssertionError("It did not begin to serve.")


def await_ready(address):
    for _ in range(600):
        try:
            with urlopen(f"{address}readyz", timeout=30) as answer:  # noqa: S310 - our own address
                assert answer.read().startswith(b"ready")
                return
        except URLError:
            time.sleep(0.02)
    raise AssertionError("It was not ready in time.")


def processor_of(process):
    """Return the seconds of processor that a process has taken."""
    told = Path(f"/proc/{process.pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(told[11]) + int(told[12])) / TICKS


def resident(process):
    """Return how many bytes of memory a process holds."""
    lines = Path(f"/proc/{process.pid}/status").read_text().splitlines()
    return 1024 * next(int(line.split()[1]) for line in lines if line.startswith("VmRSS"))


def test_a_book_is_ready_at_once_and_rests(tmp_path, record_property):
    with served(tmp_path):
        pass  # the first start makes tables and gathers files

    with served(tmp_path) as (process, waited):
        took = processor_of(process)
        time.sleep(3)  # the worker beside the pages settles
        before, began = processor_of(process), time.perf_counter()
        time.sleep(REST)
        rest = (processor_of(process) - before) / (time.perf_counter() - began)
        held = resident(process)

    print(  # noqa: T201
        f"\nready after {took:.1f} s of processor ({waited:.1f} s by the clock), "
        f"{held / 1e6:.0f} MB resident, {rest:.2%} of a core at rest"
    )
    record_property("a warm start, in seconds of processor", took / MOST_SECONDS)
    record_property("a book at rest, in memory", held / MOST_BYTES)
    record_property("a book at rest, in processor", rest / MOST_OF_A_CORE)
    assert took < MOST_SECONDS
    assert held < MOST_BYTES
    assert rest < MOST_OF_A_CORE
