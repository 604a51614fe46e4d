"""Other programs are called when something happened: signed, once an event, until they answer."""

import base64
import json
import threading
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.urls import reverse

from services.holding import hold_visit
from services.models import Hold, Hook, Outbox
from services.telling import deliver_due
from services.telling.hooks import end_hook, make_hook, secret_of, signature_of

NOW = datetime(2026, 7, 7, 14, tzinfo=UTC)


class Program(BaseHTTPRequestHandler):
    """Another program on this machine, which takes calls, or not."""

    calls: list = []
    status = 204

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.calls.append((self.path, dict(self.headers), body))
        self.send_response(self.status)
        self.end_headers()

    def log_message(self, *words):
        """Say nothing."""


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def server(settings, monkeypatch):
    monkeypatch.setattr(Program, "calls", [])
    server = ThreadingHTTPServer(("127.0.0.1", 0), Program)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    settings.HOOKS = [f"http://127.0.0.1:{server.server_port}"]
    yield settings.HOOKS[0]
    server.shutdown()
    server.server_close()


@pytest.fixture
def hook(server, owner):
    return make_hook(
        name="Accounts",
        address=f"{server}/calls?book=1",
        events=[Hook.Event.VISIT_HELD],
        by=owner,
        now=NOW,
    )


def put_off(visit, owner):
    return hold_visit(visit, reason=Hold.Reason.WIND, by=owner, at=NOW)


def test_the_signature_is_that_of_the_specification():
    # Standard Webhooks 1, the vector of the specification, read in libraries that repeat it.
    secret = "whsec_" + "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    call_id, moment = "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330
    body = b'{"test": 2432232314}'

    assert signature_of(secret, call_id, moment, body) == (
        "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    )


def test_a_program_is_told_what_happened_and_nothing_of_the_client(hook, visits, owner):
    hold = put_off(visits[0], owner)

    deliver_due(NOW)

    ((path, headers, body),) = Program.calls
    assert path == "/calls?book=1"
    assert json.loads(body) == {
        "type": "visit.held",
        "timestamp": "2026-07-07T14:00:00+00:00",
        "data": {"visit": visits[0].pk, "hold": hold.pk},
    }
    moment = int(headers["webhook-timestamp"])
    assert moment == int(NOW.timestamp())
    assert headers["webhook-signature"] == signature_of(
        secret_of(hook), headers["webhook-id"], moment, body
    )


def test_it_is_told_once(hook, visits, owner):
    put_off(visits[0], owner)
    put_off(visits[0], owner)

    deliver_due(NOW)
    deliver_due(NOW)

    assert len(Program.calls) == 1


def test_a_program_that_does_not_take_it_is_called_again_by_the_same_id(
    hook, visits, owner, monkeypatch
):
    put_off(visits[0], owner)
    monkeypatch.setattr(Program, "status", 503)
    deliver_due(NOW)
    monkeypatch.setattr(Program, "status", 200)

    row = Outbox.objects.get(kind=Outbox.Kind.HOOK)
    assert row.done_at is None
    assert "503" in row.last_error
    deliver_due(NOW + timedelta(minutes=2))

    first, second = (headers["webhook-id"] for _path, headers, _body in Program.calls)
    assert first == second
    row.refresh_from_db()
    assert row.done_at is not None


def test_after_five_times_it_is_given_up_for_a_person(hook, visits, owner, monkeypatch):
    put_off(visits[0], owner)
    monkeypatch.setattr(Program, "status", 500)

    for hours in range(6):
        deliver_due(NOW + timedelta(hours=hours))

    assert len(Program.calls) == 5
    assert Outbox.objects.get(kind=Outbox.Kind.HOOK).failed_at is not None


def test_an_address_called_no_more_is_not_called(hook, visits, owner):
    put_off(visits[0], owner)
    end_hook(hook, at=NOW)

    deliver_due(NOW)

    assert not Program.calls


def test_another_event_calls_nobody(hook, visits, owner):
    hook.events = [Hook.Event.DAY_ASKED]
    hook.save()
    put_off(visits[0], owner)

    assert not Outbox.objects.filter(kind=Outbox.Kind.HOOK).exists()


def test_what_did_not_happen_is_not_told(hook, visits, owner):
    with pytest.raises(ValidationError):
        hold_visit(visits[0], reason="no reason", by=owner, at=NOW)

    assert not Outbox.objects.filter(kind=Outbox.Kind.HOOK).exists()


@pytest.mark.parametrize(
    "address",
    [
        pytest.param("http://169.254.169.254/latest", id="another server"),
        pytest.param("{server}.example.org/calls", id="a name that begins alike"),
        pytest.param("{server}@example.org/calls", id="a name behind a sign-in"),
        pytest.param("{server}/calls#part", id="a fragment"),
        pytest.param("calls", id="no address"),
    ],
)
def test_only_servers_of_the_settings_are_called(client, owner, server, address):
    client.force_login(owner)
    typed = {"name": "A", "address": address.format(server=server), "events": ["visit.held"]}

    answer = client.post(reverse("services:new_hook"), typed)

    assert answer.status_code == 422
    assert "address" in answer.context["form"].errors
    assert not Hook.objects.exists()


def test_a_server_that_the_settings_name_no_more_is_not_called(hook, visits, owner, settings):
    put_off(visits[0], owner)
    settings.HOOKS = []

    deliver_due(NOW)

    assert not Program.calls
    assert "does not name" in Outbox.objects.get(kind=Outbox.Kind.HOOK).last_error


def test_the_secret_is_long_enough_and_each_address_has_its_own(hook, server, owner):
    other = make_hook(
        name="B", address=f"{server}/b", events=[Hook.Event.VISIT_HELD], by=owner, now=NOW
    )

    # 24 to 64 bytes [Standard Webhooks 1]; from memory
    assert 24 <= len(base64.b64decode(secret_of(hook).removeprefix("whsec_"))) <= 64
    assert secret_of(hook) != secret_of(other)


def test_the_owner_has_a_program_called_and_reads_the_secret(client, owner, server):
    client.force_login(owner)
    typed = {"name": "A", "address": f"{server}/calls", "events": ["visit.held", "day.asked"]}

    page = client.post(reverse("services:new_hook"), typed).content.decode()

    assert secret_of(Hook.objects.get()) in page
