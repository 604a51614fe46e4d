"""Proposes rotations: the best lawful ones from the store, or why there is none; keeps the chosen.

Whatever the number of weeks, products and plantings, the number of queries is the same.
"""

from treatments.proposing.asking import SKIPPED, Asked
from treatments.proposing.expecting import temperatures_near
from treatments.proposing.keeping import keep_proposal, weeks_of
from treatments.proposing.offers import LeftOut
from treatments.proposing.seasons import NothingOnOffer, Proposed, propose

__all__ = [
    "SKIPPED",
    "Asked",
    "LeftOut",
    "NothingOnOffer",
    "Proposed",
    "keep_proposal",
    "propose",
    "temperatures_near",
    "weeks_of",
]
