"""Application records: kept, amended, made void, and read with their history."""

from treatments.recording.amending import amend_application, void_application
from treatments.recording.keeping import record_application
from treatments.recording.stated import Stated

__all__ = [
    "Stated",
    "amend_application",
    "record_application",
    "void_application",
]
