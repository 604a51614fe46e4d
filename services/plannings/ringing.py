"""Asks a worker to go on with a plan; with no broker, or a lost message, the sweep does."""

from celery import current_app
from django.db import transaction


def ring(planning_id: int) -> None:
    """Ask a worker to plan what a row asks for, once it is committed."""
    # Django names a robust callback when it fails, and a partial has no name.
    transaction.on_commit(lambda: _send_message(planning_id), robust=True)


def _send_message(planning_id: int) -> None:
    current_app.send_task("services.tasks.run_planning", [planning_id], retry=False)
