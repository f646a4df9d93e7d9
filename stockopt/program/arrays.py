"""A linear program as plain arrays, small to keep and quick to hand to the solver.

PuLP takes several times as long to build a program of thousands of columns as the solver takes to
solve it; so places of large fleets are built here instead (measured: DEVELOPERS.md, large fleets).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import highspy
import numpy as np
import numpy.typing as npt
from scipy import sparse

from stockopt.program.highs import SilentHighs

Values = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

#: Factors nearer to 0 than this are left out: the solver takes none.
_SMALLEST = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arrays:
    """A program whose columns are whole and at least 0.

    Parameters
    ----------
    cost, spending, upper
        By column: what it costs in all, the part of it that is spent now, and its most.
    lower_row, upper_row
        By row: its least and its most; infinite for none.
    starts, rows, factors
        The matrix by column: column c has `factors[starts[c]:starts[c + 1]]` in these `rows`.
    """

    cost: Values
    spending: Values
    upper: Values
    lower_row: Values
    upper_row: Values
    starts: Numbers
    rows: Numbers
    factors: Values

    @property
    def matrix(self) -> sparse.csc_array:
        """Return the matrix, rows by columns."""
        shape = (len(self.lower_row), len(self.cost))
        return sparse.csc_array((self.factors, self.rows, self.starts), shape=shape)


@dataclass(slots=True, kw_only=True, eq=False)
class RowBuilder:
    """Rows as they come, before they are put together by column."""

    lower: list[Values] = field(default_factory=list)
    upper: list[Values] = field(default_factory=list)
    rows: list[Numbers] = field(default_factory=list)
    columns: list[Numbers] = field(default_factory=list)
    factors: list[Values] = field(default_factory=list)
    count: int = 0

    def add_rows(
        self, count: int, *, least: float | Values = -math.inf, most: float | Values = math.inf
    ) -> Numbers:
        """Add empty rows; return their numbers."""
        self.lower.append(np.full(count, least))
        self.upper.append(np.full(count, most))
        numbers = np.arange(self.count, self.count + count, dtype=np.int32)
        self.count += count
        return numbers

    def fill(self, rows: Numbers | int, columns: Numbers | int, factors: Values | float) -> None:
        """Put factors into rows; those that are 0 are left out, those put twice are added up."""
        row, column, factor = np.broadcast_arrays(
            np.asarray(rows, np.int32), np.asarray(columns, np.int32), np.asarray(factors, float)
        )
        counts = np.abs(factor) > _SMALLEST
        self.rows.append(row[counts])
        self.columns.append(column[counts])
        self.factors.append(factor[counts])

    def finish(self, *, cost: Values, spending: Values, upper: Values) -> Arrays:
        """Put the program together."""
        place = (np.concatenate(self.rows), np.concatenate(self.columns))
        matrix = sparse.coo_array(
            (np.concatenate(self.factors), place), shape=(self.count, len(cost))
        ).tocsc()
        return Arrays(
            cost=cost,
            spending=spending,
            upper=upper,
            lower_row=np.concatenate(self.lower),
            upper_row=np.concatenate(self.upper),
            starts=matrix.indptr.astype(np.int32),
            rows=matrix.indices.astype(np.int32),
            factors=matrix.data,
        )


def start_solver(
    arrays: Arrays, cost: Values, *, columns: Numbers | None = None, whole: bool
) -> highspy.Highs:
    """Return a quiet solver with the program in it, on one thread.

    Parameters
    ----------
    arrays
        The program.
    cost
        By column, in place of its own.
    columns
        Those to hand over; None for all. The others are 0.
    whole
        False to allow broken pieces.
    """
    matrix = arrays.matrix if columns is None else arrays.matrix[:, columns]
    taken = slice(None) if columns is None else columns
    model = highspy.HighsLp()
    model.num_row_, model.num_col_ = matrix.shape
    model.col_cost_ = cost[taken]
    model.col_upper_ = arrays.upper[taken]
    model.col_lower_ = np.zeros(model.num_col_)
    model.row_lower_ = arrays.lower_row
    model.row_upper_ = arrays.upper_row
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = matrix.indptr
    model.a_matrix_.index_ = matrix.indices
    model.a_matrix_.value_ = matrix.data
    if whole:
        model.integrality_ = [highspy.HighsVarType.kInteger] * model.num_col_
    solver = SilentHighs()  # type: ignore[no-untyped-call]  # highspy has no types
    for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 0)):
        solver.setOptionValue(option, value)
    solver.passModel(model)
    return solver
