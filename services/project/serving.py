"""One process that is everything a small business needs: pages, a worker and its clock."""

import gc
import hashlib
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from threading import Thread

from celery.beat import Service as Clock
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.core.management.sql import emit_post_migrate_signal
from django.core.wsgi import get_wsgi_application
from django.db import DEFAULT_DB_ALIAS, connection
from waitress import create_server

from services.project.celery import app
from services.project.health import migrations_waiting

Say = Callable[[str], object]

# What the promise that a kept record survives a power cut stands on.
SQLITE_PROMISES = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


class AddressTaken(OSError):
    """Something else listens on the port, or the address is not one of this machine."""


def prepare() -> None:
    """Bring the database and the static files to where this version needs them."""
    if migrations_waiting():
        call_command("migrate", interactive=False, verbosity=0)
    else:
        # What would follow, such as the triggers put back; the history of every table is not built.
        emit_post_migrate_signal(verbosity=0, interactive=False, db=DEFAULT_DB_ALIAS)
    call_command("createcachetable", verbosity=0)
    check_promises()
    if not settings.DEBUG:
        collect_static_files()


def check_promises() -> None:
    """Read back what SQLite was asked for: a wrong place for it has no effect and no error."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        for name, wanted in SQLITE_PROMISES.items():
            found = cursor.execute(f"PRAGMA {name}").fetchone()[0]
            if found != wanted:
                raise ImproperlyConfigured(f"SQLite keeps {name} at {found}, not at {wanted}.")


def collect_static_files() -> None:
    """Gather the static files unless they are the same as the last time."""
    stamp = settings.STATIC_ROOT / "collected"
    now = static_files_digest()
    if stamp.exists() and stamp.read_text() == now:
        return
    # What REST framework brings is for its browsable pages, which are off.
    call_command(
        "collectstatic", interactive=False, verbosity=0, ignore_patterns=["rest_framework"]
    )
    stamp.write_text(now)


def static_files_digest() -> str:
    """Return a digest that changes when a static file does."""
    digest = hashlib.sha256()
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=lambda found: found[0]):
            facts = f"{name} {storage.size(name)} {storage.get_modified_time(name)}\n"
            digest.update(facts.encode())
    return digest.hexdigest()


def serve(host: str, port: int, say: Say) -> None:
    """Serve until the process is told to stop, and say where.

    With a broker the workers and beat run elsewhere; without one they run here.
    """
    signal.signal(signal.SIGTERM, _interrupt)
    server = _listen(host, port)
    load_pages()
    say(f"Duskbook is at http://{host}:{server.effective_port}/ until you press Ctrl-C.")
    try:
        if settings.BROKER_URL:
            say("It serves pages only: workers and beat run apart, as BROKER_URL is set.")
            server.run()
        else:
            with background_work():
                server.run()
    finally:
        server.close()
        say("Stopped.")


def load_pages() -> None:
    """Load every page before one is asked for; what is there by then is no garbage later."""
    import_module(settings.ROOT_URLCONF)
    gc.freeze()
    gc.enable()


def _interrupt(*_args: object) -> None:
    raise KeyboardInterrupt


def _listen(host, port):
    try:
        return create_server(
            get_wsgi_application(),
            host=host,
            port=port,
            threads=8,
            ident=None,
            # Otherwise what our own proxy says of the sender would be taken off.
            clear_untrusted_proxy_headers=not settings.PROXIES,
        )
    except OSError as error:
        raise AddressTaken(f"Cannot listen on {host}:{port}: {error.strerror}.") from error


@contextmanager
def background_work() -> Iterator[None]:
    """Run a worker of two threads and beat beside the block, and stop them after it."""
    worker = app.WorkController(
        pool="threads",
        concurrency=2,
        without_gossip=True,
        without_mingle=True,
        without_heartbeat=True,
    )
    # It looks up each second, or it could not be stopped in time.
    clock = Clock(app, max_interval=1, scheduler_cls=app.conf.beat_scheduler)
    threads = [
        Thread(target=part.start, name=name, daemon=True)
        for name, part in (("worker", worker), ("clock", clock))
    ]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        clock.stop(wait=True)
        worker.stop()
        for thread in threads:
            thread.join(timeout=30)
