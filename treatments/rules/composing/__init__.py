"""Composes a season of treatments: the best lawful plans, proven, or why there is none."""

from treatments.rules.composing.composer import Answer, compose
from treatments.rules.composing.conflicts import Conflict
from treatments.rules.composing.families import BINDING, NAMES, Family
from treatments.rules.composing.plans import Plan, PlanWeek
from treatments.rules.composing.seasons import (
    Offer,
    Pin,
    PinKind,
    Season,
    SeasonUnusable,
    TreatedPlanting,
    Wishes,
)
from treatments.rules.composing.solving import ProofMissing
from treatments.rules.composing.standing import Standing, Stands
from treatments.rules.composing.weighing import risk_to_beneficials

__all__ = [
    "BINDING",
    "NAMES",
    "Answer",
    "Conflict",
    "Family",
    "Offer",
    "Pin",
    "PinKind",
    "Plan",
    "PlanWeek",
    "ProofMissing",
    "Season",
    "SeasonUnusable",
    "Standing",
    "Stands",
    "TreatedPlanting",
    "Wishes",
    "compose",
    "risk_to_beneficials",
]
