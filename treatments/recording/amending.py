"""Corrects a record by a second one, which names the first."""

from typing import Any
from uuid import UUID

from treatments.models import ApplicationRecord


def amend_application(
    record: ApplicationRecord, *, reason: str, by, event_id: UUID | None = None, **changes: Any
) -> ApplicationRecord:
    """Keep a whole new record in place of a wrong one, which stays as it is."""
    raise NotImplementedError


def void_application(
    record: ApplicationRecord, *, reason: str, by, event_id: UUID | None = None
) -> ApplicationRecord:
    """Keep that a record does not stand: nothing of it was applied."""
    raise NotImplementedError
