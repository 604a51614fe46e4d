"""What office users and phones do all day, for locust: read, look for, type, send.

People and phones are told by the file that `SOAK_PEOPLE` names.
"""

import json
import os
import random
import re
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from uuid import UUID, uuid4

from locust import HttpUser, between, constant_throughput, task

PEOPLE = json.loads(Path(os.environ["SOAK_PEOPLE"]).read_text())
OFFICES, PHONES = iter(PEOPLE["offices"]), iter(PEOPLE["phones"])
WORDS = ("rose", "boxwood", "soap", "park", "oil", "mite", "library")
RECORDS = 5_000


def uuid7(moment):
    """Return a new UUID of version 7 [RFC9562]."""
    milliseconds, at_random = int(moment.timestamp() * 1000), random.getrandbits(62)
    return str(UUID(int=(milliseconds << 80) | (7 << 76) | (2 << 62) | at_random))


class OfficeUser(HttpUser):
    """Reads lists and sheets, looks for words, and writes down a client now and then."""

    fixed_count = int(os.environ.get("SOAK_OFFICES", "20"))
    wait_time = between(2, 6)

    def on_start(self):
        told = {"username": next(OFFICES), "password": PEOPLE["password"]}
        self.typed("/accounts/login/", told)

    def typed(self, path, told):
        """Open a page with a form and send it, as a browser does."""
        page = self.client.get(path)
        (secret, *_others) = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page.text)
        referrer = {"Referer": f"{self.host}{path}"}
        told = {**told, "csrfmiddlewaretoken": secret}
        answer = self.client.post(path, told, headers=referrer, allow_redirects=False)
        if answer.status_code != 302:
            raise AssertionError(f"{path} was not kept: {answer.status_code}")

    @task(6)
    def week(self):
        self.client.get("/week/")

    @task(4)
    def records(self):
        self.client.get("/records/")

    @task(3)
    def record(self):
        number = random.randint(1, RECORDS)
        self.client.get(f"/records/{number}/", name="/records/N/")

    @task(1)
    def record_paper(self):
        number = random.randint(1, RECORDS)
        self.client.get(f"/records/{number}/record.pdf", name="/records/N/record.pdf")

    @task(3)
    def look_for(self):
        self.client.get("/search/", params={"q": random.choice(WORDS)}, name="/search/")

    @task(2)
    def properties(self):
        self.client.get("/properties/")

    @task(2)
    def store(self):
        self.client.get("/store/")

    @task(1)
    def new_client(self):
        self.typed("/clients/new/", {"name": f"Invented {uuid4()}", "language": "en"})


class Phone(HttpUser):
    """Fetches its stops, and sends a note in an event of its own; each fifth time twice over."""

    fixed_count = int(os.environ.get("SOAK_PHONES", "10"))
    wait_time = constant_throughput(0.1)

    def on_start(self):
        told = next(PHONES)
        first = int(os.environ.get("SOAK_FIRST", "1"))
        self.device, self.numbers, self.digest = told["device"], count(first), ""
        self.client.cookies.set("phone", told["token"])

    @task
    def packet(self):
        known = {"If-None-Match": self.digest} if self.digest else {}
        with self.client.get("/api/v1/packet/", headers=known, catch_response=True) as answer:
            if answer.status_code in (200, 304):
                answer.success()
        self.digest = answer.headers.get("ETag", self.digest)

    @task
    def note(self):
        event = self.event(next(self.numbers))
        for _time in range(2 if random.random() < 0.2 else 1):
            self.send(event)

    def event(self, number):
        """Return the next note of this phone."""
        now = datetime.now(UTC)
        at = now.isoformat(timespec="seconds")
        return {
            "event_id": uuid7(now),
            "device_id": self.device,
            "device_seq": number,
            "kind": "note",
            "visit_id": None,
            "base_version": None,
            "packet": "",
            "done_at": at,
            "captured_at": at,
            "zone": "America/New_York",
            "clock": {"device": at, "server_seen": None, "ticks_ms": None},
            "body": {"text": "Invented: webs on the north side."},
            "photos": [],
        }

    def send(self, event):
        batch = {"device_id": self.device, "unsent": 0, "events": [event]}
        headers = {"X-Phone": self.device}
        path = "/api/v1/sync/"
        with self.client.post(path, json=batch, headers=headers, catch_response=True) as answer:
            replies = answer.json().get("replies", []) if answer.status_code == 200 else []
            results = [reply["result"] for reply in replies]
            kept = {"accepted", "accepted_flagged", "duplicate"}
            if len(results) != 1 or not set(results) <= kept:
                answer.failure(f"{answer.status_code}: {answer.text[:200]}")
