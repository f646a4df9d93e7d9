"""A store's boats solved together: the bound boat by boat, the plan a few boats at a time.

The relaxed program prices every piece that a boat wants. At those prices each boat is solved
exactly, and what that costs more than in broken pieces is added to the relaxed bound (Lagrangian
relaxation; Fisher 1981, as in :mod:`stockopt.program.decompose`). The first plan is put together
from the boats' own plans and the relaxed one; then a few boats at a time are solved anew while
the others stay, with all packs and orders (large neighbourhood search; P. Shaw, Using constraint
programming and local search methods to solve vehicle routing problems, 1998; from memory). What
is small enough is solved over all that could still be in a better plan, before or after.
"""

from __future__ import annotations

import math
import time
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import highspy
import numpy as np

from stockopt.errors import NoPlanError, SolverError
from stockopt.program.arrays import Arrays, Flags, Numbers, Values, start_solver
from stockopt.program.place_model import KeptProgram
from stockopt.program.place_solve import Priced, solve_priced
from stockopt.program.shared import SharedProgram

#: Boats solved anew at a time, and the most seconds for it.
_AT_A_TIME = 4
_EACH_SECONDS = 5.0
#: Share of the gap asked that each boat, and each program of some boats, may leave.
_OWN_GAP = 0.2
#: Options of a reduced cost above this share of what one boat costs are left out where boats are
#: solved anew.
_NEAR = 2e-3
#: Where no more columns than this are left that could be in a better plan, they are solved over at
#: once. Measured to a gap of 1e-4: 8,000 columns take 9 s, or 14 s after improving a few boats at
#: a time; 130,000 columns bring nothing in 50 s.
_FEW = 20_000
#: Below this value a column is 0 in the relaxed plan.
_ZERO = 1e-9


@dataclass(slots=True, kw_only=True, eq=False)
class _Store:
    """What is known of a store; only the bound, and the best plan with its total, change.

    Parameters
    ----------
    arrays
        Its program, at the price of money.
    own
        By column: whose it alone is, numbered by boat; -1 for packs, pieces and orders.
    optional
        By column: whether some of its kind can be left out, as options can, and what is brought to
        a boat alone.
    relaxed, reduced
        By column: the relaxed plan, and its reduced costs.
    least
        What the relaxed plan costs.
    until, gap
        When to stop.
    bound
        No plan costs less.
    more
        By boat: what it costs more in whole pieces than in broken ones, as the bound has it.
    """

    arrays: Arrays
    own: Numbers
    optional: Flags
    relaxed: Values
    reduced: Values
    least: float
    until: float
    gap: float
    bound: float
    more: Values
    best: Values | None = None
    total: float = math.inf

    @property
    def left(self) -> float:
        """Return the seconds left."""
        return self.until - time.perf_counter()

    @property
    def is_done(self) -> bool:
        """Return whether the gap is proven, or the time is up."""
        if self.best is None:
            return False
        return self.left <= 0.0 or self.total - self.bound <= self.gap * max(1.0, abs(self.total))


def solve_shared(
    program: SharedProgram,
    multiplier: float,
    *,
    gap: float,
    seconds: float,
    pool: Executor | None = None,
) -> Priced:
    """Find the plan that costs least where money spent now costs `multiplier` more.

    Parameters
    ----------
    program
        Of boats that share orders.
    multiplier
        Price of money on top of itself.
    gap, seconds
        When to stop, as for the whole program.
    pool
        Solves boats at the same time; None for one after the other.

    Returns
    -------
    Priced
        The best plan found and the bound, whether or not the gap was reached.

    Raises
    ------
    NoPlanError
        No plan keeps the limits.
    SolverError
        The time was up before any plan was found.
    """
    store, duals = _relax(program, multiplier, gap=gap, until=time.perf_counter() + seconds)
    plans = _solve_boats(store, duals, pool)
    _find_first(store, plans)
    if np.count_nonzero(_list_near(store)) <= _FEW:
        _finish(store, seconds=0.8 * store.left)
        _improve(store)
    else:
        _improve(store)
        _finish(store, seconds=store.left)
    if store.best is None:
        raise SolverError("the time was up before any plan was found for a store")
    return Priced(values=store.best, bound=min(store.bound, store.total))


def _relax(
    program: SharedProgram, multiplier: float, *, gap: float, until: float
) -> tuple[_Store, Values]:
    """Solve the program in broken pieces; return what is known then, and the price of each row."""
    cost = program.arrays.cost + multiplier * program.arrays.spending
    arrays = replace(program.arrays, cost=cost)
    solver = start_solver(arrays, cost, whole=False)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        raise NoPlanError(())
    if status != highspy.HighsModelStatus.kOptimal:
        raise SolverError(f"the solver ended a linear program with {status.name}")
    owner, solution = program.owner, solver.getSolution()
    least = float(solver.getInfo().objective_function_value)
    store = _Store(
        arrays=arrays,
        own=owner,
        optional=(np.arange(len(cost)) >= program.first_option) | (owner >= 0),
        relaxed=np.array(solution.col_value),
        reduced=np.array(solution.col_dual),
        least=least,
        until=until,
        gap=gap,
        bound=least,
        more=np.zeros(int(program.boat.max()) + 1),
    )
    return store, np.array(solution.row_dual)


def _solve_boats(store: _Store, duals: Values, pool: Executor | None) -> Values:
    """Solve each boat at the prices of what is shared; raise the bound.

    That has half of the time; boats that are not solved by then add nothing to the bound.

    Returns
    -------
    numpy.ndarray
        By column: 1 for the options that the boats take.
    """
    arrays = store.arrays
    matrix = arrays.matrix
    owner = np.repeat(store.own, np.diff(matrix.indptr))
    first = np.full(len(duals), np.iinfo(np.int32).max, np.int32)
    last = np.full(len(duals), -1, np.int32)
    np.minimum.at(first, matrix.indices, owner)
    np.maximum.at(last, matrix.indices, owner)
    #: By row: the one boat that it is about; -1 for what is shared.
    about = np.where(first == last, first, -1)
    priced = arrays.cost - matrix.T @ np.where(about >= 0, 0.0, duals)
    until = store.until - 0.5 * store.left

    def solve(boat: int) -> tuple[Numbers, Priced | None]:
        left = until - time.perf_counter()
        columns = np.flatnonzero(store.own == boat).astype(np.int32)
        rows = np.flatnonzero(about == boat)
        part = matrix[:, columns].tocsr()[rows].tocsc()
        alone = Arrays(
            cost=priced[columns],
            spending=np.zeros(len(columns)),
            upper=arrays.upper[columns],
            lower_row=arrays.lower_row[rows],
            upper_row=arrays.upper_row[rows],
            starts=part.indptr.astype(np.int32),
            rows=part.indices.astype(np.int32),
            factors=part.data,
        )
        kept = KeptProgram(arrays=alone, tight=True)
        gap = _OWN_GAP * store.gap
        try:
            return columns, solve_priced(kept, 0.0, gap=gap, seconds=left) if left > 0.0 else None
        except SolverError:
            return columns, None

    plans = np.zeros(len(store.own))
    boats = range(len(store.more))
    solved = (map if pool is None else pool.map)(solve, boats)
    for boat, (columns, found) in zip(boats, solved, strict=True):
        if found is None:
            continue
        plans[columns] = found.values
        store.more[boat] = found.bound - float(priced[columns] @ store.relaxed[columns])
    store.bound += float(store.more.sum())
    return plans


def _find_first(store: _Store, plans: Values) -> None:
    """Find a first plan among the boats' plans and the relaxed one; else among ever more."""
    near = (store.relaxed > _ZERO) | (plans > 0.5)
    _try(store, near, seconds=store.left / 2.0)
    share = _NEAR / 10.0
    while store.best is None and store.left > 0.0 and share < 1.0:
        _try(store, near | (store.reduced <= share * _scale(store)), seconds=store.left / 2.0)
        share *= 10.0


def _scale(store: _Store) -> float:
    """Return about what one boat costs."""
    return max(1.0, abs(store.least)) / len(store.more)


def _improve(store: _Store) -> None:
    """Solve a few boats at a time anew, until that brings nothing more."""
    boats = len(store.more)
    near = store.reduced <= _NEAR * _scale(store)
    step, before = 1, math.inf
    while store.best is not None and store.total < before:
        before = store.total
        # Every round other boats stand together.
        turn = np.argsort(np.arange(boats) * step % boats, kind="stable")
        for first in range(0, boats, _AT_A_TIME):
            if store.is_done:
                return
            chosen = np.isin(store.own, turn[first : first + _AT_A_TIME])
            _try(store, (store.best > 0.5) | (chosen & near), seconds=_EACH_SECONDS)
        step += 6


def _list_near(store: _Store) -> Flags:
    """Return by column whether it could be in a better plan.

    An option of a boat adds at least its reduced cost to what the other boats cost.
    """
    most = store.total - store.bound + np.append(store.more, 0.0)[store.own]
    return (store.reduced <= most) | (store.relaxed > _ZERO)


def _finish(store: _Store, *, seconds: float) -> None:
    """Solve over all that could be in a better plan."""
    if store.is_done:
        return
    bound = _try(store, _list_near(store), gap=store.gap, seconds=seconds)
    if bound == math.inf and store.best is None:  # -inf: the time was up before any bound
        raise NoPlanError(())
    store.bound = max(store.bound, min(bound, store.total))


def _try(store: _Store, free: Flags, *, seconds: float, gap: float | None = None) -> float:
    """Solve over some of the options and all that is shared; keep what is better.

    Returns
    -------
    float
        The bound over these columns; infinite where no plan is among them.
    """
    columns = np.flatnonzero(free | ~store.optional).astype(np.int32)
    solver = start_solver(store.arrays, store.arrays.cost, columns=columns, whole=True)
    gap = _OWN_GAP * store.gap if gap is None else gap
    seconds = max(1.0, min(seconds, store.left))
    for option, value in (("mip_rel_gap", gap), ("mip_abs_gap", gap), ("time_limit", seconds)):
        solver.setOptionValue(option, value)
    # No start is given: from one, HiGHS 1.16 at times ends with it though its own bound is lower.
    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return math.inf
    info = solver.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if found and info.objective_function_value < store.total:
        store.total = float(info.objective_function_value)
        store.best = np.zeros(len(store.own))
        store.best[columns] = solver.getSolution().col_value
    return float(info.mip_dual_bound)
