"""Application records: kept, amended, made void, and read with their history."""

from treatments.recording.amending import amend_application, void_application
from treatments.recording.clocks import Clocks, clocks_of, due_of
from treatments.recording.fields import fields_of
from treatments.recording.flagging import flag_of
from treatments.recording.keeping import record_application
from treatments.recording.reading import (
    Difference,
    Revision,
    current_of,
    history_of,
    what_is_missing,
    with_unit,
)
from treatments.recording.stated import Stated

__all__ = [
    "Clocks",
    "Difference",
    "Revision",
    "Stated",
    "amend_application",
    "clocks_of",
    "current_of",
    "due_of",
    "fields_of",
    "flag_of",
    "history_of",
    "record_application",
    "void_application",
    "what_is_missing",
    "with_unit",
]
