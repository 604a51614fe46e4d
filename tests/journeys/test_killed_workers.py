"""A thousand letters, and workers that are killed twenty times while they send them."""

import os
import random
import re
import signal
import time
from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from services.models import Outbox
from services.telling import sweep
from services.telling.outbox import HALF_SENT
from tests.journeys.workers import ENDED, letters, letters_waiting, started

LETTERS, KILLS = 1_000, 20
TWO_HANDS = ("--pool=prefork", "--concurrency=2")
PATIENCE = 300  # seconds without a letter more before the test gives up

pytestmark = [
    pytest.mark.needs_broker,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("broker"),
]


@pytest.fixture
def rows():
    """A thousand letters that wait, each to an address of its own."""
    return letters_waiting(LETTERS)


@pytest.fixture
def crew(data):
    """Workers of two hands each that are started again when they are dead."""
    crew = Crew(data)
    yield crew
    crew.kill_whole()


class Crew:
    """One worker of two hands; a hand or the whole of it can be killed."""

    def __init__(self, data):
        self.data = data
        self.worker = started(data, pool=TWO_HANDS)

    def kill(self, at_random):
        """Kill one hand in the middle of its work, or each fifth time all of it."""
        hands = children_of(self.worker.pid)
        if not hands or at_random.random() < 0.2:
            self.kill_whole()
            self.worker = started(self.data, pool=TWO_HANDS)
        else:
            os.kill(at_random.choice(hands), signal.SIGKILL)

    def kill_whole(self):
        """Kill the worker with its hands, at once."""
        os.killpg(self.worker.pid, signal.SIGKILL)
        self.worker.wait()


def children_of(pid):
    """Return the processes that a process has started."""
    return [int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def ended():
    return Outbox.objects.filter(ENDED).count()


def leases_run_out():
    """Let the minutes pass after which what a dead worker held is taken up by another."""
    held = Outbox.objects.filter(leased_until__isnull=False).exclude(ENDED)
    held.update(leased_until=timezone.now() - timedelta(seconds=1))


def wait_until(enough, *, crew):
    """Wait for as many letters to end, ringing again for those whose worker or message is lost."""
    seen, since = ended(), time.monotonic()
    while seen < enough:
        time.sleep(0.1)
        now = ended()
        if now > seen:
            seen, since = now, time.monotonic()
        waited = time.monotonic() - since
        assert waited < PATIENCE, (seen, (crew.data / "worker.log").read_text()[-3000:])
        if waited > 10:
            leases_run_out()
            sweep(timezone.now())
            time.sleep(5)


def test_no_letter_is_lost_or_doubled_by_twenty_kills(rows, crew):
    at_random = random.Random(11)
    sweep(timezone.now())

    for kill in range(KILLS):
        wait_until((kill + 1) * LETTERS // (KILLS + 1), crew=crew)
        crew.kill(at_random)
    wait_until(LETTERS, crew=crew)

    # Two hands may write into one file: its name is a second and a place in memory.
    sent = Counter(re.findall(r"^To: (\S+)", "".join(letters(crew.data)), re.MULTILINE))
    asked = {row.pk: row.arguments["address"] for row in rows}
    done = {asked[row.pk] for row in Outbox.objects.filter(done_at__isnull=False)}
    doubtful = Outbox.objects.filter(failed_at__isnull=False)
    assert {row.last_error for row in doubtful} <= {HALF_SENT}
    assert done <= set(sent)
    assert set(sent.values()) == {1}
    assert len(done) + doubtful.count() == LETTERS
    assert doubtful.count() <= 2 * KILLS  # what the two hands held when they were killed
