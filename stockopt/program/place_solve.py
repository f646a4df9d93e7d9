"""One place solved exactly at a price of money, over the few columns that can matter.

A column that is 0 in the relaxed plan adds at least its reduced cost once it is not. So with all
columns above some reduced cost left out, what is found is the best there is, or the best is at
least the relaxed cost plus that reduced cost (reduced cost fixing; L. A. Wolsey, Integer
Programming, 1998, section 7.5; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import highspy
import numpy as np

from stockopt.errors import NoPlanError, SolverError
from stockopt.program.arrays import Values, start_solver
from stockopt.program.place_model import KeptProgram, Relaxed, relax_program

#: First reduced cost above which columns are left out, as a share of the relaxed cost, and what
#: it grows by where that was too few.
_FIRST = 2e-4
_GROWTH = 6.0
#: Left out above this share, a column list is hardly shorter: all are taken.
_LAST = 0.05
#: Below this value a column is 0 in the relaxed plan.
_ZERO = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """The best plan found at a price, as the values of the columns, and the proven bound."""

    values: Values
    bound: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """What the solver made of some of the columns: no values where it found no plan."""

    values: Values | None
    cost: float
    bound: float
    infeasible: bool


def solve_priced(model: KeptProgram, multiplier: float, *, gap: float, seconds: float) -> Priced:
    """Find the plan that costs least where money spent now costs `multiplier` more.

    Parameters
    ----------
    model
        Of one place, or of one boat of a store.
    multiplier
        Price of money on top of itself.
    gap, seconds
        When to stop, as for the whole program.

    Raises
    ------
    NoPlanError
        No plan keeps this place's limits.
    SolverError
        The time was up before any plan was found.
    """
    relaxed = relax_program(model, multiplier)
    if math.isinf(relaxed.cost):
        raise NoPlanError(())
    whole = np.round(relaxed.values)
    if np.abs(relaxed.values - whole).max() <= _ZERO:  # nothing binds that would break a piece
        return Priced(values=whole, bound=relaxed.cost)
    scale = max(1.0, abs(relaxed.cost))
    best: _Tried | None = None
    most = _FIRST * scale if model.tight else math.inf
    while True:
        if most > _LAST * scale:
            most = math.inf
        tried = _solve_some(model, relaxed, multiplier, most, gap=gap, seconds=seconds)
        if tried.values is not None and (best is None or tried.cost < best.cost):
            best = tried
        bound = max(relaxed.cost, min(tried.bound, relaxed.cost + most))
        if best is not None and best.values is not None:
            reached = best.cost - bound <= gap * max(1.0, abs(best.cost))
            if reached or math.isinf(most) or not math.isfinite(tried.bound):
                return Priced(values=best.values, bound=min(bound, best.cost))
        elif math.isinf(most):
            if tried.infeasible:
                raise NoPlanError(())
            raise SolverError("the time was up before any plan was found for a place")
        most = _widen(most, relaxed.cost, None if best is None else best.cost)


def _widen(most: float, relaxed: float, best: float | None) -> float:
    """Take more columns: never more than those that could be in a better plan."""
    wider = _GROWTH * most
    if best is None:
        return wider
    enough = (best - relaxed) * (1.0 + 1e-9) + 1e-9
    return min(wider, enough) if enough > most else wider


def _solve_some(
    model: KeptProgram,
    relaxed: Relaxed,
    multiplier: float,
    most: float,
    *,
    gap: float,
    seconds: float,
) -> _Tried:
    """Solve over the columns of at most this reduced cost."""
    arrays = model.arrays
    columns = np.flatnonzero((relaxed.reduced_costs <= most) | (relaxed.values >= _ZERO))
    priced = arrays.cost + multiplier * arrays.spending
    solver = start_solver(arrays, priced, columns=columns.astype(np.int32), whole=True)
    for option, value in (("mip_rel_gap", gap), ("mip_abs_gap", gap), ("time_limit", seconds)):
        solver.setOptionValue(option, value)
    solver.run()
    info = solver.getInfo()
    infeasible = solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = None
    if found and not infeasible:
        values = np.zeros(len(arrays.cost))
        values[columns] = solver.getSolution().col_value
    return _Tried(
        values=values,
        cost=float(info.objective_function_value),
        bound=math.inf if infeasible else float(info.mip_dual_bound),
        infeasible=infeasible,
    )
