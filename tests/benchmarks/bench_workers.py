"""How much more is sent by two and by four workers than by one, each a process of its own.

Run by name with BROKER_URL set: `pytest tests/benchmarks/bench_workers.py -s`.  The mail server is
one of our own that takes its time over each letter, as servers far away do; what waits for it is
what more workers are for.  What keeps a processor busy grows with the processors alone.
"""

import os
import signal
import socketserver
import threading
import time

import pytest
from django.utils import timezone

from services.models import Outbox
from services.telling import sweep
from tests.journeys.conftest import broker, data  # noqa: F401
from tests.journeys.workers import ENDED, letters_waiting, started

EACH = 120  # letters for each worker
TAKES = 0.1  # seconds of the server over each
PATIENCE = 240
BARS = {2: 1.8, 4: 3.2}

pytestmark = [
    pytest.mark.needs_broker,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("broker"),
]


class SlowMail(socketserver.StreamRequestHandler):
    """As much of SMTP as it takes to be given a letter [RFC5321]."""

    def handle(self):
        """Answer one connection to its end, slowly where a letter was told."""
        self.say("220 invented.example.org")
        while line := self.rfile.readline():
            word = line[:4].upper().strip()
            if word == b"DATA":
                self.say("354 go on")
                while self.rfile.readline() not in (b".\r\n", b""):
                    pass
                time.sleep(TAKES)
            self.say("221 bye" if word == b"QUIT" else "250 well")

    def say(self, line):
        self.wfile.write(f"{line}\r\n".encode())


class MailServer(socketserver.ThreadingTCPServer):
    daemon_threads = True
    request_queue_size = 64


@pytest.fixture
def mail(monkeypatch):
    """Serve mail on this machine, and tell workers where."""
    with MailServer(("127.0.0.1", 0), SlowMail) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield {
            "DUSKBOOK_MAIL_HOST": "127.0.0.1",
            "DUSKBOOK_MAIL_PORT": str(server.server_address[1]),
            "DUSKBOOK_MAIL_TLS": "off",
        }
        server.shutdown()


def wait_for(ended):
    """Wait until so many letters have ended."""
    begun = time.monotonic()
    while Outbox.objects.filter(ENDED).count() < ended:
        assert time.monotonic() - begun < PATIENCE
        time.sleep(0.02)


def rate_of(workers, data, mail):  # noqa: F811
    """Return how many letters a second so many workers send, all of them started before."""
    before = Outbox.objects.count()
    crew = [started(data, more=mail) for _ in range(workers)]
    try:
        letters_waiting(4 * workers)
        sweep(timezone.now())
        wait_for(before + 4 * workers)
        time.sleep(5)  # the last of them may still be starting
        count = EACH * workers
        letters_waiting(count)
        begun = time.monotonic()
        sweep(timezone.now())
        wait_for(before + 4 * workers + count)
        return count / (time.monotonic() - begun)
    finally:
        for process in crew:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def test_more_workers_send_more(data, mail, record_property):  # noqa: F811
    rates = {workers: rate_of(workers, data, mail) for workers in (1, 2, 4)}

    assert not Outbox.objects.filter(failed_at__isnull=False).exists()
    print(  # noqa: T201
        "\n" + ", ".join(f"{workers}: {rate:.1f} a second" for workers, rate in rates.items())
    )
    for workers, bar in BARS.items():
        gained = rates[workers] / rates[1]
        record_property(f"letters sent by {workers} workers beside one", bar / gained)
        assert gained >= bar
