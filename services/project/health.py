"""What the program answers to whoever watches over it."""

from functools import cache

from django.db import Error, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from services.watching import silent_queues


@require_safe
@never_cache
def healthz(request):
    """Say that the process answers."""
    return said("well")


@require_safe
@never_cache
def readyz(request):
    """Say whether pages can be served: 503 without the database, or before its migrations.

    Pages need no worker, so that a silent one is told and is no reason to send nobody here.
    """
    try:
        waiting = migrations_waiting()
        silent = [] if waiting else silent_queues(timezone.now())
    except Error:
        return said("no database", status=503)
    if waiting:
        return said("migrations wait", status=503)
    return said("ready", *(f"no worker heard of: {queue}" for queue in silent))


def said(*lines, status=200):
    """Return an answer of plain lines."""
    text = "".join(f"{line}\n" for line in lines)
    return HttpResponse(text, content_type="text/plain", status=status)


def migrations_waiting() -> int:
    """Return how many migrations of this version the database has not had."""
    return len(migrations_here() - set(MigrationRecorder(connection).applied_migrations()))


@cache
def migrations_here() -> frozenset[tuple[str, str]]:
    """Return the migrations that this version brings; they are read from the disk once."""
    return frozenset(MigrationLoader(None).disk_migrations)
