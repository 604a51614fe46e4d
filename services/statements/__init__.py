"""Statements of clients: what is to be charged, given out once, paid and corrected later."""

from services.statements.correcting import correct_charge
from services.statements.drafting import Draft, DraftLine, draft_for
from services.statements.giving import give_out
from services.statements.paying import note_payment, take_back_payment

__all__ = [
    "Draft",
    "DraftLine",
    "correct_charge",
    "draft_for",
    "give_out",
    "note_payment",
    "take_back_payment",
]
