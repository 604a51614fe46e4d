"""Gathers what the book holds into papers: visit sheets, application records, clients' letters."""

from services.printing.notices import notices_pdf
from services.printing.records import records_pdf
from services.printing.summaries import summaries_pdf, summary_pdf
from services.printing.visit_sheets import visit_sheets_pdf

__all__ = ["notices_pdf", "records_pdf", "summaries_pdf", "summary_pdf", "visit_sheets_pdf"]
