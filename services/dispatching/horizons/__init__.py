"""Several days planned together: what may go when, the search, and the plan as it is written."""

from services.dispatching.horizons.horizon import Horizon
from services.dispatching.horizons.problem import Problem, problem_of
from services.dispatching.horizons.settling import Settled, settled
from services.dispatching.horizons.writing import HandedOut, hand_out, write

__all__ = [
    "HandedOut",
    "Horizon",
    "Problem",
    "Settled",
    "hand_out",
    "problem_of",
    "settled",
    "write",
]
