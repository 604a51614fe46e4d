"""A season as a linear model in numbers: what each column counts for, and the rows by family.

Window and clique rows hold at most one of many columns at once, which keeps the model tight.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from treatments.rules.composing.candidates import Candidate, candidates_of
from treatments.rules.composing.families import BITS, EVERY_FAMILY, Family
from treatments.rules.composing.label_rows import (
    active_rows,
    interval_rows,
    separation_rows,
    total_rows,
)
from treatments.rules.composing.resistance_rows import (
    generation_rows,
    neighbour_rows,
    use_rows,
)
from treatments.rules.composing.rows import Grid, Row
from treatments.rules.composing.seasons import Season
from treatments.rules.composing.store_rows import buying_columns, shelves_of, store_rows
from treatments.rules.composing.visit_rows import egg_rows, pin_rows, reach_rows, week_rows
from treatments.rules.composing.weighing import costs_weighed, risk_of, surcharge, weights_of

Numbers = NDArray[np.float64]
Places = NDArray[np.int32]
SLACK = 1e-9  # for what a fraction loses as a binary number


@dataclass(frozen=True, slots=True)
class Matrix:
    """Rows one after the other: which columns they sum, times what, between which bounds."""

    starts: Places
    columns: Places
    weights: Numbers
    lower: Numbers
    upper: Numbers


@dataclass(frozen=True, slots=True)
class Model:
    """A season in numbers: binary columns of candidates, then the amounts bought.

    bars: for each column the bits of the families that bar it
    families: for each row the bit of its family, 0 for one that always holds
    """

    grid: Grid
    candidates: list[Candidate]
    buying: dict[str, int]
    costs: Numbers
    bars: Places
    families: Places
    matrix: Matrix

    def part(self, active: int = EVERY_FAMILY) -> tuple[Places, Numbers, Matrix]:
        """Return the columns left with what they count for, and the rows of the active families.

        active: the bits of the families that are kept
        """
        kept = np.flatnonzero((self.bars & active) == 0).astype(np.int32)
        places = np.full(len(self.bars), -1, np.int32)
        places[kept] = np.arange(len(kept), dtype=np.int32)
        rows = (self.families == 0) | (self.families & active != 0)
        return kept, self.costs[kept], _part(self.matrix, rows, places)


def _part(matrix: Matrix, rows: NDArray[np.bool_], places: Places) -> Matrix:
    lengths = np.diff(matrix.starts)
    entries = np.repeat(rows, lengths) & (places[matrix.columns] >= 0)
    before = np.concatenate(([0], np.cumsum(entries)))
    counts = (before[matrix.starts[1:]] - before[matrix.starts[:-1]])[rows]
    return Matrix(
        np.concatenate(([0], np.cumsum(counts))).astype(np.int32),
        places[matrix.columns[entries]],
        matrix.weights[entries],
        matrix.lower[rows],
        matrix.upper[rows],
    )


def model_of(season: Season, *, visits_may_lapse: bool = False) -> Model:
    """Return a season in numbers.

    visits_may_lapse: rules between neighbours reach over weeks without a visit, which is asked
        when it is looked for what might be given up
    """
    grid = Grid(season, visits_may_lapse)
    candidates = candidates_of(season)
    buying = buying_columns(grid)
    rows = [row for row in _rows(grid, buying) if row.family not in season.wishes.given_up]
    matrix = _matrix(rows)
    families = np.array([BITS[row.family] if row.family else 0 for row in rows], np.int32)
    return Model(
        grid=grid,
        candidates=candidates,
        buying=buying,
        costs=_costs(grid, candidates, buying),
        bars=_barred_alone(candidates, len(buying))
        | _barred_by_rows(matrix, families, grid, buying),
        families=families,
        matrix=matrix,
    )


def _rows(grid: Grid, buying: dict[str, int]) -> Iterator[Row]:
    yield from chain(
        week_rows(grid),
        pin_rows(grid),
        interval_rows(grid),
        total_rows(grid),
        active_rows(grid),
        separation_rows(grid),
        generation_rows(grid),
        neighbour_rows(grid),
        use_rows(grid),
        store_rows(grid, buying),
        egg_rows(grid),
        reach_rows(grid),
    )


def _matrix(rows: Sequence[Row]) -> Matrix:
    lengths = [len(row.columns) for row in rows]
    columns = np.fromiter(chain.from_iterable(row.columns for row in rows), np.int32, sum(lengths))
    weights = np.ones(len(columns))
    starts = np.concatenate(([0], np.cumsum(lengths))).astype(np.int32)
    for place, row in enumerate(rows):
        if row.weights is not None:
            weights[starts[place] : starts[place + 1]] = row.weights
    lower = np.array([row.lower for row in rows])
    return Matrix(starts, columns, weights, lower, np.array([row.upper for row in rows]))


def _costs(grid: Grid, candidates: Sequence[Candidate], buying: dict[str, int]) -> Numbers:
    season, weights = grid.season, weights_of(grid.season.wishes)
    of_offers = {
        offer.code: weights.cost * (cost + season.visit_cost)
        + weights.risk * risk_of(offer)
        + weights.visit
        for offer, cost in zip(season.offers, costs_weighed(season), strict=True)
    }
    of_weeks = [
        float(of_offers[each.offer.code] + weights.warning * each.warnings) for each in candidates
    ]
    shelves = {shelf.first.product.name: shelf for shelf in shelves_of(season.offers)}
    of_buying = [float(weights.cost * surcharge(shelves[name].first)) for name in buying]
    return np.array(of_weeks + of_buying)


def _barred_alone(candidates: Sequence[Candidate], others: int) -> Places:
    bars = [sum(BITS[family] for family in each.bars) for each in candidates]
    return np.array(bars + [0] * others, np.int32)


def _barred_by_rows(matrix: Matrix, families: Places, grid: Grid, buying: dict[str, int]) -> Places:
    """Return the bits of families of which a row has no room for a column even by itself."""
    bars = np.zeros(len(grid.weeks) * grid.width + len(buying), np.int32)
    row_of = np.repeat(np.arange(len(families)), np.diff(matrix.starts))
    with_credit = np.bincount(row_of, weights=matrix.weights < 0, minlength=len(families)) > 0
    too_heavy = (matrix.weights > matrix.upper[row_of] + SLACK) & ~with_credit[row_of]
    too_heavy &= (families[row_of] != 0) & (families[row_of] != BITS[Family.PINS])
    np.bitwise_or.at(bars, matrix.columns[too_heavy], families[row_of[too_heavy]])
    return bars
