"""What was said to be kept is there after the process was killed, and nothing is there by half."""

import os
import random
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
KEEPS = Path(__file__).with_name("keeps_until_killed.py")
KILLS = 10


@pytest.fixture
def book(tmp_path):
    """A made-up business with one record, in a folder of its own on SQLite."""
    kept_apart = {"DATABASE_URL", "PGHOST", "BROKER_URL"}
    environment = {name: told for name, told in os.environ.items() if name not in kept_apart}
    environment |= {"DUSKBOOK_DATA": str(tmp_path), "DUSKBOOK_ENVIRONMENT": "ready"}
    environment |= {"DJANGO_SETTINGS_MODULE": "services.project.settings"}
    environment |= {"PYTHONPATH": str(ROOT)}
    run(environment, "generate", "--clients", "1", "--records", "1")
    return environment


def run(environment, *command):
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=environment,
        check=True,
        capture_output=True,
        text=True,
    ).stdout


def killed_after(environment, seconds):
    """Let records be kept for a while, kill the process, and return the numbers it had said."""
    keeping = subprocess.Popen(
        [sys.executable, str(KEEPS)],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    first = keeping.stdout.readline()
    assert first, "the process ended before it kept anything"
    time.sleep(seconds)
    keeping.kill()
    rest, _nothing = keeping.communicate()
    # A line that was cut off by the kill was not said to the end.
    return [int(line) for line in (first + rest).splitlines(keepends=True) if line.endswith("\n")]


@pytest.mark.slow
@pytest.mark.once
def test_every_record_that_was_said_to_be_kept_is_there_after_ten_kills(book):
    at_random = random.Random(7)
    said = [
        number for _kill in range(KILLS) for number in killed_after(book, at_random.uniform(0, 0.4))
    ]

    with sqlite3.connect(Path(book["DUSKBOOK_DATA"]) / "duskbook.sqlite3") as database:
        kept = {number for (number,) in database.execute(RECORDS)}
        sound = database.execute("PRAGMA integrity_check").fetchone()
        by_half = database.execute(WITHOUT_ENTRY).fetchone()
    assert len(said) >= KILLS
    assert set(said) <= kept
    assert len(set(said)) == len(said)
    assert sound == ("ok",)
    assert by_half == (0,)
    assert "All is as it was kept." in run(book, "verify")


RECORDS = "SELECT number FROM treatments_applicationrecord"
WITHOUT_ENTRY = """
    SELECT count(*) FROM treatments_applicationrecord record
    WHERE NOT EXISTS (
        SELECT 1 FROM treatments_stockentry line WHERE line.record_id = record.id
    )
"""
