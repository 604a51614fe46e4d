"""Asks the few hosts that the settings name, and trusts nothing that comes back.

The name of a host is looked up once, and what is reached is the very address that was looked at.
No redirect is followed, no proxy of the environment is used, and a reply that is too large, too
slow or no JSON is an error with a sentence.
"""

import contextlib
import http.client
import json
import socket
import ssl
import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from urllib.parse import urlsplit

SECONDS = 10.0
MOST_BYTES = 2 * 1024 * 1024
PORTS = {"http": 80, "https": 443}
CHUNK = 64 * 1024
TAKEN = range(200, 300)


class FetchFailed(OSError):
    """What was asked for did not come, or is not to be trusted; the message says why."""


@dataclass(frozen=True, slots=True)
class Source:
    """A host that may be asked, and how.

    host: as the settings name it; port: None for the usual one
    may_be_private: whether it may stand in the own network, as a server of one's own does
    headers: sent with each request
    """

    host: str
    scheme: str = "https"
    port: int | None = None
    may_be_private: bool = False
    headers: Mapping[str, str] = field(default_factory=dict)


def fetch_json(source: Source, path: str, *, body: object = None) -> object:
    """Return what a source answers at a path, as plain values; raise FetchFailed.

    path: begins with a slash and is made by the program, never taken from a reply or a person
    body: sent as JSON by POST; None asks by GET
    """
    deadline = time.monotonic() + SECONDS
    with _reached(source) as connection:
        _ask(connection, source, path, body)
        return _as_json(_read(connection.getresponse(), deadline))


def post_bytes(source: Source, path: str, body: bytes) -> None:
    """Post bytes to a source at a path; raise FetchFailed where the answer is none of 200 to 299.

    What the source answers besides its status is not read.
    """
    with _reached(source) as connection:
        connection.request("POST", path, body=body, headers=dict(source.headers))
        answer = connection.getresponse()
        if not TAKEN.start <= answer.status < TAKEN.stop:
            raise FetchFailed(f"The answer is {answer.status}; only 200 to 299 is taken.")


@contextlib.contextmanager
def _reached(source: Source) -> Iterator[http.client.HTTPConnection]:
    """Yield a connection that ends in time; whatever fails on it is told as FetchFailed."""
    connection = _connection(source, _address(source))
    # A host may send a byte just before each time-out, so the whole has an end of its own.
    end = threading.Timer(SECONDS, _cut, [connection])
    end.start()
    try:
        yield connection
    except (OSError, http.client.HTTPException) as error:
        raise _failed(error) from error
    finally:
        end.cancel()
        connection.close()


def source_of(
    url: str, *, may_be_private: bool, headers: Mapping[str, str] | None = None
) -> Source:
    """Return the source that an address of the settings names.

    >>> source_of("http://roads.example:5000", may_be_private=True).port
    5000
    """
    parts = urlsplit(url)
    return Source(parts.hostname or "", parts.scheme, parts.port, may_be_private, headers or {})


def _address(source: Source) -> str:
    """Return the address of a host, looked up once; refuse one of the own network."""
    port = source.port or PORTS[source.scheme]
    try:
        found = socket.getaddrinfo(source.host, port, type=socket.SOCK_STREAM)
    except OSError as error:
        raise FetchFailed(f"{source.host} is not known: {error}.") from error
    addresses = [str(each[4][0]) for each in found]
    if not source.may_be_private and not all(ip_address(each).is_global for each in addresses):
        raise FetchFailed(f"{source.host} stands in a network of one's own and is not asked.")
    return addresses[0]


def _connection(source: Source, address: str) -> http.client.HTTPConnection:
    port = source.port or PORTS[source.scheme]
    connection = http.client.HTTPConnection(source.host, port, timeout=SECONDS)
    try:
        reached = socket.create_connection((address, port), timeout=SECONDS)
        if source.scheme == "https":
            context = ssl.create_default_context()
            reached = context.wrap_socket(reached, server_hostname=source.host)
    except OSError as error:
        raise _failed(error) from error
    connection.sock = reached
    return connection


def _ask(connection: http.client.HTTPConnection, source: Source, path: str, body: object) -> None:
    headers = {"Accept": "application/json, application/geo+json", **source.headers}
    if body is None:
        connection.request("GET", path, headers=headers)
        return
    headers["Content-Type"] = "application/json"
    connection.request("POST", path, body=json.dumps(body).encode(), headers=headers)


def _read(answer: http.client.HTTPResponse, deadline: float) -> bytes:
    if answer.status != 200:
        raise FetchFailed(f"The answer is {answer.status}; only 200 is taken.")
    parts: list[bytes] = []
    while chunk := answer.read1(CHUNK):
        parts.append(chunk)
        if sum(map(len, parts)) > MOST_BYTES:
            raise FetchFailed(f"The answer is longer than {MOST_BYTES} bytes.")
    if time.monotonic() > deadline:
        raise FetchFailed(f"The answer took longer than {SECONDS:g} seconds.")
    return b"".join(parts)


def _cut(connection: http.client.HTTPConnection) -> None:
    with contextlib.suppress(OSError):  # the other side may have closed it already
        connection.sock.shutdown(socket.SHUT_RDWR)


def _as_json(text: bytes) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        raise FetchFailed("The answer is no JSON.") from error


def _failed(error: Exception) -> FetchFailed:
    if isinstance(error, FetchFailed):
        return error
    return FetchFailed(f"{type(error).__name__}: {error}"[:300])
