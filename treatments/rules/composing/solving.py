"""Asks HiGHS [HIGHS-2018] for the best plan, and takes only what it has proven.

The solver is large and is loaded when it is first asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from treatments.rules.composing.families import EVERY_FAMILY
from treatments.rules.composing.models import Matrix, Model, Numbers, Places

if TYPE_CHECKING:
    import highspy

SECONDS = 20.0


class ProofMissing(ValueError):
    """The best plan was not proven in the time given; the sentence says what to do."""


class Search:
    """One model before the solver; each plan found can be forbidden, and the next one asked for."""

    def __init__(self, model: Model, seconds: float = SECONDS) -> None:
        self._candidates = len(model.candidates)
        self._kept, costs, matrix = model.part()
        self._offers = self._kept[: self._binaries()] % model.grid.width
        self._solver = _solver(seconds)
        self._solver.passModel(program(costs, matrix, self._binaries()))

    def _binaries(self) -> int:
        return int(np.searchsorted(self._kept, self._candidates))

    def best(self) -> list[int] | None:
        """Return the columns of the best plan that is not forbidden, or None when none is left.

        Raise ProofMissing when the solver does not prove one or the other.
        """
        if not _is_solved(self._solver):
            return None
        values = np.array(self._solver.getSolution().col_value[: self._binaries()])
        return [int(column) for column in self._kept[np.flatnonzero(values > 0.5)]]

    def forbid(self, columns: Sequence[int]) -> None:
        """Forbid a plan in just these weeks: another leaves a column or takes one more."""
        places = np.arange(self._binaries(), dtype=np.int32)
        weights = np.where(np.isin(self._kept[: len(places)], columns), 1.0, -1.0)
        self._at_most(len(columns) - 1.0, places, weights)

    def ask_another_offer(self, columns: Sequence[int]) -> None:
        """Ask that from now on every plan uses an offer which this one does without."""
        chosen = np.isin(self._kept[: self._binaries()], columns)
        others = np.flatnonzero(~np.isin(self._offers, self._offers[chosen])).astype(np.int32)
        self._at_most(-1.0, others, np.full(len(others), -1.0))

    def _at_most(self, upper: float, places: Places, weights: Numbers) -> None:
        self._solver.addRow(-np.inf, upper, len(places), places, weights)


def is_possible(model: Model, active: int = EVERY_FAMILY, seconds: float = SECONDS) -> bool:
    """Say whether some plan keeps the families whose bits are active.

    Raise ProofMissing when the solver proves neither.
    """
    kept, costs, matrix = model.part(active)
    solver = _solver(seconds)
    binaries = int(np.searchsorted(kept, len(model.candidates)))
    solver.passModel(program(np.zeros(len(costs)), matrix, binaries))
    return _is_solved(solver)


def _is_solved(solver: highspy.Highs) -> bool:
    """Run the solver: True for a proven best plan, False for proof that there is none."""
    from highspy import HighsModelStatus as Status

    solver.run()
    status = solver.getModelStatus()
    if status == Status.kOptimal:
        return True
    # No cost is below zero, so that what is unbounded or infeasible is infeasible.
    if status in (Status.kInfeasible, Status.kUnboundedOrInfeasible):
        return False
    raise ProofMissing(
        "The best plan was not proven in the time given. Ask for fewer weeks or products."
    )


def program(costs: Numbers, matrix: Matrix, binaries: int) -> highspy.HighsLp:
    """Return costs and rows as the solver takes them; the first columns are yes or no.

    A model without columns gets one that stays 0: the solver answers nothing to an empty one.
    """
    import highspy

    linear = highspy.HighsLp()
    others = max(len(costs) - binaries, 0 if binaries else 1)
    linear.num_col_, linear.num_row_ = binaries + others, len(matrix.lower)
    linear.col_cost_ = costs if len(costs) else np.zeros(1)
    linear.col_lower_ = np.zeros(binaries + others)
    linear.col_upper_ = np.array([1.0] * binaries + [np.inf] * others)
    linear.row_lower_, linear.row_upper_ = matrix.lower, matrix.upper
    linear.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    linear.a_matrix_.start_ = matrix.starts
    linear.a_matrix_.index_ = matrix.columns
    linear.a_matrix_.value_ = matrix.weights
    kinds = highspy.HighsVarType
    linear.integrality_ = [kinds.kInteger] * binaries + [kinds.kContinuous] * others
    return linear


def _solver(seconds: float) -> highspy.Highs:
    import highspy

    solver = highspy.Highs()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 1e-7),
        # The bound is what takes long: looking around good plans by smaller models adds a tenth.
        ("mip_heuristic_run_rins", False),
        ("mip_heuristic_run_rens", False),
        ("time_limit", seconds),
    ):
        solver.setOptionValue(option, value)
    return solver
