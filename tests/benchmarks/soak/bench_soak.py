"""Half an hour of twenty office users and ten phones on a book that one process serves.

Run by name, with nothing else at work and locust installed from `tests/requirements.soak.txt`:
`pytest tests/benchmarks/soak/bench_soak.py -s`; `SOAK_MINUTES` makes it shorter.  No request may
fail, memory may not grow after it has settled, waiting stays near what one person waits alone, and
the journal is as it was kept.
"""

import csv
import json
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

import pytest

ROOT = Path(__file__).resolve().parents[3]
HERE = Path(__file__).parent
MINUTES = float(os.environ.get("SOAK_MINUTES", "30"))
OFFICES, PHONES, RECORDS = 20, 10, 5_000
MOST_GROWTH, MOST_TIMES = 1.05, 3
WHOLE = "Aggregated"  # as locust names the sum of all requests

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def environment(tmp_path_factory):
    """A generated business in a folder of its own, with people and phones."""
    folder = tmp_path_factory.mktemp("soak")
    kept_apart = {"DATABASE_URL", "PGHOST", "BROKER_URL"}
    environment = {name: told for name, told in os.environ.items() if name not in kept_apart}
    environment |= {"DUSKBOOK_DATA": str(folder), "DUSKBOOK_ENVIRONMENT": "ready"}
    environment |= {"DJANGO_SETTINGS_MODULE": "services.project.settings", "PYTHONPATH": str(ROOT)}
    environment |= {"SOAK_PEOPLE": str(folder / "people.json")}
    run(environment, "manage.py", "generate", "--clients", "200", "--records", str(RECORDS))
    run(environment, "manage.py", "collectstatic", "--noinput")
    # One office user and one phone more, who come alone before the others.
    people = run(environment, str(HERE / "people.py"), str(OFFICES + 1), str(PHONES + 1))
    (folder / "people.json").write_text(people)
    return environment


def run(environment, *words):
    """Run a program to its end and return what it said."""
    ended = subprocess.run(
        [sys.executable, *words], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


@pytest.fixture
def server(environment):
    """Serve the book as `manage.py start` does, until the end."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "manage.py", "start", "--port", str(port)]
    process = subprocess.Popen(words, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    wait_for(address)
    yield process, address
    process.terminate()
    process.wait(timeout=60)


def wait_for(address):
    for _second in range(60):
        try:
            with urlopen(f"{address}/readyz", timeout=5):  # noqa: S310
                return
        except OSError:
            time.sleep(1)
    pytest.fail("The server is not ready after a minute.")


def resident(process):
    """Return how many kB of memory a process holds."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0])


def soaked(environment, address, folder, *, offices, phones, minutes, first_event=1):
    """Let hands work for some minutes; return locust's rows by the name of the request."""
    told = {"SOAK_OFFICES": str(offices), "SOAK_PHONES": str(phones)}
    told |= {"SOAK_FIRST": str(first_event)}
    words = [sys.executable, "-m", "locust", "--headless", "--only-summary", "--skip-log"]
    words += ["--locustfile", str(HERE / "hands.py"), "--host", address, "--spawn-rate", "2"]
    words += ["--users", str(offices + phones), "--run-time", f"{int(minutes * 60)}s"]
    words += ["--csv", str(folder / "told"), "--exit-code-on-error", "0"]
    subprocess.run(words, cwd=folder, env=environment | told, check=True, capture_output=True)
    with (folder / "told_stats.csv").open() as table:
        return {row["Name"]: row for row in csv.DictReader(table)}


def test_a_book_bears_half_an_hour_of_thirty_hands(environment, server, tmp_path, record_property):
    process, address = server
    people = json.loads(Path(environment["SOAK_PEOPLE"]).read_text())
    first = {**people, "offices": people["offices"][-1:], "phones": people["phones"][-1:]}
    alone_with = tmp_path / "first.json"
    alone_with.write_text(json.dumps(first))
    alone = soaked(
        environment | {"SOAK_PEOPLE": str(alone_with)},
        address,
        tmp_path,
        offices=1,
        phones=1,
        minutes=max(1, MINUTES / 15),
    )
    hands = {"offices": OFFICES, "phones": PHONES}
    soaked(environment, address, tmp_path, **hands, minutes=MINUTES / 6)  # until memory has settled
    settled = resident(process)

    rows = soaked(
        environment, address, tmp_path, **hands, minutes=MINUTES * 5 / 6, first_event=10_001
    )

    grown = resident(process) / settled
    failed = int(rows[WHOLE]["Failure Count"]) + int(alone[WHOLE]["Failure Count"])
    slowest = float(rows[WHOLE]["95%"]) / float(alone[WHOLE]["95%"])
    print(  # noqa: T201
        f"\n{rows[WHOLE]['Request Count']} requests in {MINUTES:.0f} minutes, {failed} failed; 95 "
        f"of 100 within {rows[WHOLE]['95%']} ms, alone {alone[WHOLE]['95%']} ms; "
        f"{settled / 1024:.0f} MB, {grown:.3f} times that at the end"
    )
    for name, row in rows.items():
        print(f"{row['95%']:>7} ms of {row['Request Count']:>6}  {name}")  # noqa: T201
    assert failed == 0, (tmp_path / "told_failures.csv").read_text()
    assert "All is as it was kept." in run(environment, "manage.py", "verify")
    record_property("a soak, in memory", grown / MOST_GROWTH)
    record_property("a soak, in waiting", slowest / MOST_TIMES)
    assert grown < MOST_GROWTH
    assert slowest < MOST_TIMES
