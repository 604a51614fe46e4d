"""Keeps what was applied, as it was on the day."""

from typing import Unpack
from uuid import UUID

from treatments.models import ApplicationRecord
from treatments.recording.stated import Stated


def record_application(
    *, recorded_by, event_id: UUID | None = None, **stated: Unpack[Stated]
) -> ApplicationRecord:
    """Keep an application and draw its product from the lot; the same event is kept once.

    What was done outdoors is never refused for being late, odd or against a label: it is kept
    and flagged.
    """
    raise NotImplementedError
