"""Brings data from files: looked at without writing, confirmed, kept whole or not, undone."""

from services.bringing.asking import Sent, ask, confirm, give_up, is_small
from services.bringing.blanks import blank_csv, blank_workbook, explanations_of, heads_of
from services.bringing.kinds import KINDS
from services.bringing.reading import ENCODINGS, SEPARATORS
from services.bringing.running import run_bringing, sweep_bringings
from services.bringing.undoing import may_be_undone_on, undo

__all__ = [
    "ENCODINGS",
    "KINDS",
    "SEPARATORS",
    "Sent",
    "ask",
    "blank_csv",
    "blank_workbook",
    "confirm",
    "explanations_of",
    "give_up",
    "heads_of",
    "is_small",
    "may_be_undone_on",
    "run_bringing",
    "sweep_bringings",
    "undo",
]
