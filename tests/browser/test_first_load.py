"""What a phone's first load takes: every byte over the wire, sent as the book sends it."""

import pytest
from django.core.management import call_command
from django.db import connections
from django.test.testcases import LiveServerThread

from tests.browser.wire import Wire

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

MOST = 250_000  # bytes
KEPT = """async () => {
  await navigator.serviceWorker.ready;
  const [name] = await caches.keys();
  return (await (await caches.open(name)).keys()).map(({ url }) => new URL(url).pathname);
}"""


class AsTheBookServes:
    """Leaves files to the book's own middleware, which sends them packed."""

    def __init__(self, application):
        self.application = application

    def __call__(self, environ, start_response):
        return self.application(environ, start_response)


@pytest.fixture
def wire(live_server, settings, tmp_path_factory):
    """The wire to a book whose files are collected and packed."""
    settings.STATIC_ROOT = tmp_path_factory.mktemp("static")
    packed = {"BACKEND": settings.STATIC_STORE}
    settings.STORAGES = {**settings.STORAGES, "staticfiles": packed}
    call_command("collectstatic", interactive=False, verbosity=0)
    shared = {each.alias: each for each in connections.all() if is_in_memory(each)}
    server = LiveServerThread("127.0.0.1", AsTheBookServes, connections_override=shared)
    server.daemon = True
    server.start()
    server.is_ready.wait()
    if server.error:
        raise server.error
    wire = Wire(server.port)
    yield wire
    wire.cut()
    server.terminate()


def is_in_memory(connection):
    """Say whether a database is there for one connection alone."""
    return connection.vendor == "sqlite" and connection.is_in_memory_db()


def test_a_first_load_with_the_stops_of_the_day_is_small(phone, wire):
    kept = phone.page.evaluate(KEPT)
    taken = wire.answered

    assert "/static/field/start.js" in kept
    assert phone.page.locator("a.to-stop").count()
    assert 50_000 < taken < MOST, taken
