"""The Celery app with two tasks that do nothing, and letters that go nowhere, for the benchmark."""

import django
from django.utils import timezone

from services.project.celery import app

django.setup()

from services.models import Outbox  # noqa: E402 - the models want Django set up
from services.telling import outbox  # noqa: E402


class NoLetter:
    """A letter that is written and sent in no time."""

    def send(self):
        """Send nothing."""


@app.task(ignore_result=True)
def nothing():
    """Do nothing: what a broker and a worker take for a task."""


@app.task(ignore_result=True)
def mark_done(outbox_id):
    """Mark a row done: the least that work with a row that stays can do."""
    Outbox.objects.filter(pk=outbox_id).update(done_at=timezone.now())


outbox.letter_for = lambda row: NoLetter()
