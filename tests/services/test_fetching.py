"""What is fetched comes from the named host alone, in time, in size and as JSON."""

import socket
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from services import fetching
from services.fetching import FetchFailed, Source, fetch_json, source_of

BODIES = {
    "/good": b'{"code": "Ok"}',
    "/words": b"<html>",
    "/deep": b"[" * 200_000,
    "/large": b"1" * (fetching.MOST_BYTES + 1),
}


class Answers(BaseHTTPRequestHandler):
    """Answers on this machine as a host might, well or badly."""

    seen: list = []

    def do_GET(self):
        self.seen.append((self.path, dict(self.headers)))
        if self.path == "/elsewhere":
            self.send_response(302)
            self.send_header("Location", "/good")
            self.end_headers()
            return
        if self.path == "/silent":
            threading.Event().wait(1)
            return
        self.send_response(200 if self.path in BODIES else 500)
        self.end_headers()
        self.wfile.write(BODIES.get(self.path, b"{}"))

    def do_POST(self):
        self.send_response(200)
        self.end_headers()
        self.wfile.write(self.rfile.read(int(self.headers["Content-Length"])))

    def log_message(self, *words):
        """Say nothing."""


@pytest.fixture
def own_server():
    """A host on this machine, which only a server of one's own may be."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield source_of(f"http://127.0.0.1:{server.server_port}", may_be_private=True)
    server.shutdown()
    server.server_close()


def test_json_comes_as_plain_values(own_server):
    assert fetch_json(own_server, "/good") == {"code": "Ok"}


def test_a_body_is_sent_as_json(own_server):
    assert fetch_json(own_server, "/any", body={"a": [1]}) == {"a": [1]}


@pytest.mark.parametrize(
    ("path", "reason"),
    [
        ("/elsewhere", "302"),
        ("/broken", "500"),
        ("/words", "no JSON"),
        ("/deep", "no JSON"),
        ("/large", "longer than"),
    ],
)
def test_what_is_no_good_answer_is_refused(own_server, path, reason):
    with pytest.raises(FetchFailed, match=reason):
        fetch_json(own_server, path)


def test_a_host_that_says_nothing_is_left(own_server, monkeypatch):
    monkeypatch.setattr(fetching, "SECONDS", 0.2)

    with pytest.raises(FetchFailed):
        fetch_json(own_server, "/silent")


@pytest.mark.parametrize(
    "address", ["127.0.0.1", "10.0.0.7", "192.168.1.1", "169.254.169.254", "::1", "fd00::1"]
)
def test_a_host_that_stands_in_the_own_network_is_not_asked(monkeypatch, address):
    # private, loopback and link-local addresses by RFC 1918, RFC 4193 and RFC 3927
    monkeypatch.setattr(socket, "getaddrinfo", lambda *a, **k: [(0, 0, 0, "", (address, 443))])

    with pytest.raises(FetchFailed, match="network of one's own"):
        fetch_json(Source("weather.example"), "/points/1,1")


def test_a_host_is_reached_at_the_address_that_was_looked_at(monkeypatch, own_server):
    asked = []
    monkeypatch.setattr(
        socket, "create_connection", lambda where, timeout: asked.append(where) or 1 / 0
    )
    monkeypatch.setattr(
        socket, "getaddrinfo", lambda *a, **k: [(0, 0, 0, "", ("93.184.216.34", 443))]
    )

    with pytest.raises(ZeroDivisionError):
        fetch_json(Source("weather.example"), "/points/1,1")

    assert asked == [("93.184.216.34", 443)]


def test_a_line_break_cannot_be_put_into_a_header(own_server):
    named = Source(
        own_server.host, "http", own_server.port, True, {"User-Agent": "a\r\nX-Other: 1"}
    )

    with pytest.raises(ValueError, match="Invalid header"):
        fetch_json(named, "/good")
