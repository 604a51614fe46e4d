"""The application record on paper: every field, who asks for it, and what was amended."""

from reportlab.platypus import Flowable, PageBreak

from services.sheets.application_record.facts import (
    Amendment,
    ApplicationRecord,
    ApplicationRecords,
    Change,
    LogHead,
    RuleSet,
    Times,
    Void,
)
from services.sheets.application_record.fields import FIELDS, Field, UnknownField
from services.sheets.application_record.index import index_pages
from services.sheets.application_record.page import record_pages
from services.sheets.pages import bind
from services.sheets.words import words_in

__all__ = [
    "FIELDS",
    "Amendment",
    "ApplicationRecord",
    "ApplicationRecords",
    "Change",
    "Field",
    "LogHead",
    "RuleSet",
    "Times",
    "UnknownField",
    "Void",
    "draw_application_records",
]


def draw_application_records(records: ApplicationRecords) -> bytes:
    """Return records as a PDF, each on pages of its own; the same records give the same bytes."""
    _ = words_in(records.imprint.language)
    story: list[Flowable] = index_pages(records) if records.with_index else []
    for record in records.records:
        story += [PageBreak()] if story else []
        story += record_pages(record, records.imprint, records.log_head)
    return bind(story, records.imprint, _("Application records"))
