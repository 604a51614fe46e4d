"""Completing: a visit begun, checked on the spot, and kept with its records."""

from services.completing.beside import keep_beside
from services.completing.checking import check_before_spraying
from services.completing.flags import treated_in_part
from services.completing.keeping import add_report, complete_visit, start_visit
from services.completing.reports import ApplicationReport, VisitReport

__all__ = [
    "ApplicationReport",
    "VisitReport",
    "add_report",
    "check_before_spraying",
    "complete_visit",
    "keep_beside",
    "start_visit",
    "treated_in_part",
]
