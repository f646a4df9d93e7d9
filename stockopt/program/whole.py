"""The program solved as one: the best plan, with ties broken."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.arrays import Values, start_solver
from stockopt.program.shared import SharedProgram, build_shared, list_taken, read_shared
from stockopt.program.solution import Bought, Picked, Solution
from stockopt.program.ties import SCALE, find_most_ties, list_tie_costs

#: Nodes of the search after which a plan within the gap is good enough. Charter bases of eight
#: boats and 50 parts take fewer than 20 to the best plan, hard instances of 2,000 choices some
#: 1,000. Nodes, and not seconds, so that a busy machine finds the same plan.
EFFORT = 1_000
#: What the solver is not to try: no two boats have run alike, so that there is no symmetry to find,
#: and these two ways to a first plan bring none that the others do not. Measured without them: 10
#: to 20 % quicker on seven markets of 1,000 to 5,400 columns, and on the charter base sample.
_LEFT_OUT = (
    "mip_detect_symmetry",
    "mip_heuristic_run_feasibility_jump",
    "mip_heuristic_run_rens",
)
#: Share by which the cost of a plan may differ from what the solver says.
_SHORT = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A plan in whole pieces, and the proven bound of what was asked to be small."""

    picked: tuple[Picked, ...]
    bought: tuple[Bought, ...]
    bound: float


def solve_whole(
    choices: Choices, *, gap: float, seconds: float, start: Solution | None = None
) -> Found:
    """Solve the program of the whole fleet, and return the plan with the proven bound.

    The best plan is looked for, with ties broken (see :mod:`stockopt.program.ties`); once that has
    taken :data:`EFFORT`, a plan within the gap is good enough.

    Parameters
    ----------
    choices, gap, seconds, start
        As for :func:`~stockopt.program.solve.solve_program`.

    Raises
    ------
    NoPlanError
        No plan keeps all the limits; what clashes is asked in :mod:`stockopt.program.clashes`.
    SolverError
        The solver stopped without a plan.
    """
    shared = build_shared(choices)
    cost = SCALE * (shared.arrays.cost + list_tie_costs(shared))
    until = time.perf_counter() + seconds
    solver = _run(shared, cost, gap, seconds, start)
    if start is not None and not _is_sound(solver, cost):
        solver = _run(shared, cost, gap, until - time.perf_counter(), None)
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        raise NoPlanError(())
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise SolverError(
            f"the solver found no plan within {seconds:g} s; give it more time (setting seconds)"
        )
    picked, bought = read_shared(shared, np.array(solver.getSolution().col_value))
    bound = info.mip_dual_bound / SCALE - find_most_ties(shared)
    return Found(picked=picked, bought=bought, bound=bound)


def _run(
    shared: SharedProgram, cost: Values, gap: float, seconds: float, start: Solution | None
) -> highspy.Highs:
    """Let the solver run until it has the best plan, or has taken its effort or its time."""
    solver = start_solver(shared.arrays, cost, whole=True)
    for option, value in (("mip_rel_gap", 0.0), ("mip_abs_gap", 0.0), ("time_limit", seconds)):
        solver.setOptionValue(option, value)
    for option in _LEFT_OUT:
        solver.setOptionValue(option, False)

    def stop_when_enough(event: Any) -> None:  # noqa: ANN401 - highspy has no types
        told = event.data_out
        if told.mip_node_count >= EFFORT and told.mip_gap <= gap:
            event.interrupt()

    solver.cbMipInterrupt.subscribe(stop_when_enough)
    if start is not None:
        _begin_from(solver, shared, cost, start)
    solver.run()
    return solver


def _begin_from(
    solver: highspy.Highs, shared: SharedProgram, cost: Values, start: Solution
) -> None:
    """Give the solver a plan to begin from, with all that follows from what it settles."""
    columns, values = list_taken(shared, start)
    settled = start_solver(shared.arrays, cost, whole=True)
    settled.changeColsBounds(len(columns), columns, values, values)
    settled.run()
    if settled.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
        solver.setSolution(settled.getSolution())


def _is_sound(solver: highspy.Highs, cost: Values) -> bool:
    """Return whether the plan given costs what the solver says, and is best where it says so.

    With a plan to begin from, HiGHS 1.16 at times gives that one back, though what it says of
    costs and bound is of the best.
    """
    info = solver.getInfo()
    told = info.objective_function_value
    least = told
    if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
        least = min(told, info.mip_dual_bound)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return True
    given = float(cost @ np.array(solver.getSolution().col_value))
    return given <= least + _SHORT * max(1.0, abs(least))
