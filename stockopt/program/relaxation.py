"""What the whole fleet would spend at a price of money, were broken pieces allowed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from stockopt.errors import SolverError
from stockopt.program.highs import QuietHiGHS
from stockopt.program.plain import list_spending
from stockopt.program.rows import Program

#: Money dearer than this many times itself is as good as none to spend.
_DEAREST = 2.0**20
#: Share of the budget by which the spending of broken pieces may miss it.
_NEAR = 1e-3
_MOST_STEPS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """One place's program with broken pieces allowed, kept in the solver for many prices.

    Parameters
    ----------
    solver
        HiGHS with the model in it; it starts from the last solution each time.
    cost, spending
        By column: what it costs in all, and the part of it that is spent now.
    """

    solver: highspy.Highs
    cost: npt.NDArray[np.float64]
    spending: npt.NDArray[np.float64]


def relax_program(program: Program) -> Relaxation:
    """Hand a program without a price of money over to the solver as a linear one.

    Straight to the solver, since building it anew for every price would take longer than solving.
    """
    problem = program.problem
    handover = QuietHiGHS(mip=False)
    handover.createAndConfigureSolver(problem)
    handover.buildSolverModel(problem)
    solver = problem.solverModel
    columns = solver.getNumCol()
    spending = np.zeros(columns)
    for column, money in list_spending(program):
        spending[column.index] += money
    cost = np.array(solver.getLp().col_cost_)
    return Relaxation(solver=solver, cost=cost, spending=spending)


def solve_relaxation(relaxation: Relaxation, multiplier: float) -> float:
    """Return what is spent now where money costs `multiplier` on top of itself.

    Infinite where not even broken pieces keep the limits.
    """
    solver = relaxation.solver
    columns = len(relaxation.cost)
    priced = relaxation.cost + multiplier * relaxation.spending
    solver.changeColsCost(columns, np.arange(columns, dtype=np.int32), priced)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return float("inf")
    if status != highspy.HighsModelStatus.kOptimal:
        raise SolverError(f"the solver ended a linear program with {status.name}")
    return float(relaxation.spending @ np.array(solver.getSolution().col_value))


def find_multiplier(
    relaxations: Sequence[Relaxation],
    budget: float,
    run_all: Callable[[Callable[[Relaxation], float], Sequence[Relaxation]], Iterable[float]],
) -> float:
    """Find the price of money at which the relaxed fleet spends its budget.

    Parameters
    ----------
    relaxations
        One for each place.
    budget
        Money to spend now.
    run_all
        Applies a function to all relaxations.

    Returns
    -------
    float
        0 where the budget is no limit; the dearest tried where even that spends too much.

    Notes
    -----
    Spending falls as money gets dearer: the price is doubled until it is enough, and then found
    between the last two by false position with halved ends (the Illinois rule; G. Dahlquist and
    A. Bjorck, Numerical Methods, 1974, section 6.4; from memory).
    """

    def overspend(multiplier: float) -> float:
        return sum(run_all(lambda each: solve_relaxation(each, multiplier), relaxations)) - budget

    low, over = 0.0, overspend(0.0)
    if over <= 0.0:
        return 0.0
    high = 0.5
    while (under := overspend(high)) > 0.0:
        low, over = high, under
        high *= 2.0
        if high > _DEAREST:
            return low
    return _close_in(overspend, (low, over), (high, under), _NEAR * budget)


def _close_in(
    overspend: Callable[[float], float],
    low: tuple[float, float],
    high: tuple[float, float],
    near: float,
) -> float:
    """Close in between a price that spends too much and one that does not."""
    (a, over), (b, under) = low, high
    kept = 0
    for _ in range(_MOST_STEPS):
        if b - a <= 1e-6 * b or -near <= under:
            break
        middle = a + (b - a) * over / (over - under)
        found = overspend(middle)
        if abs(found) <= near:
            return middle
        if found > 0.0:
            a, over = middle, found
            under = under / 2.0 if kept > 0 else under
            kept = 1
        else:
            b, under = middle, found
            over = over / 2.0 if kept < 0 else over
            kept = -1
    return b
