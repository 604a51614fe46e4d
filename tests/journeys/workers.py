"""Workers in processes of their own, over a real broker and the database of the test."""

import os
import subprocess
import sys
from pathlib import Path

from django.db import connection
from django.db.models import Q
from django.utils import timezone

from services.models import Outbox
from treatments.models import Checkpoint

ROOT = Path(__file__).resolve().parents[2]
ALONE = ("--pool=solo",)
ENDED = Q(done_at__isnull=False) | Q(failed_at__isnull=False)
SLIM = ("--without-gossip", "--without-mingle", "--loglevel=WARNING")


def surroundings(data):
    """Return the variables by which a worker finds the database and the folder of the test."""
    database = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    postgres = {name: str(database[key]) for name, key in names.items() if database.get(key)}
    if connection.vendor == "postgresql":
        postgres |= {"PGDATABASE": database["NAME"], "DATABASE_URL": ""}
    return {"DUSKBOOK_DATA": str(data), "DUSKBOOK_MAIL_HOST": "", **postgres}


def started(data, *, pool=ALONE, more=None):
    """Start a worker as the leader of a group of processes, its words in a file of the folder.

    more: variables beside those by which it finds database and folder
    """
    name = f"--hostname=test-{os.getpid()}-{os.urandom(4).hex()}"
    with (data / "worker.log").open("a") as log:
        return subprocess.Popen(
            [
                sys.executable,
                "-m",
                "celery",
                "-A",
                "services.project",
                "worker",
                *pool,
                *SLIM,
                name,
            ],
            cwd=ROOT,
            env=os.environ | surroundings(data) | (more or {}),
            stdout=log,
            stderr=log,
            start_new_session=True,
        )


def letters(data):
    """Return the mails that workers wrote into their folder."""
    folder = data / "mail"
    return [path.read_text() for path in sorted(folder.glob("*"))] if folder.exists() else []


def letters_waiting(count):
    """Write letters down that wait, each to an address of its own, and return their rows."""
    now = timezone.now()
    told, _ = Checkpoint.objects.get_or_create(
        size=0, defaults={"root": "00" * 32, "text": "invented", "made_at": now}
    )
    return Outbox.objects.bulk_create(
        Outbox(
            kind=Outbox.Kind.CHECKPOINT,
            arguments={"checkpoint": told.pk, "address": f"keeper-{number}@example.org"},
            dedupe_key=f"letter {now.isoformat()} {number}",
            not_before=now,
        )
        for number in range(count)
    )
