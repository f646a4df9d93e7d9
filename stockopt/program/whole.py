"""The program solved as one: the best plan, with ties broken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.arrays import start_solver
from stockopt.program.shared import build_shared, read_shared
from stockopt.program.solution import Bought, Picked
from stockopt.program.ties import SCALE, find_most_ties, list_tie_costs

#: Nodes of the search after which a plan within the gap is good enough. Charter bases of eight
#: boats and 50 parts take fewer than 20 to the best plan, hard instances of 2,000 choices some
#: 1,000. Nodes, and not seconds, so that a busy machine finds the same plan.
EFFORT = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A plan in whole pieces, and the proven bound of what was asked to be small."""

    picked: tuple[Picked, ...]
    bought: tuple[Bought, ...]
    bound: float


def solve_whole(choices: Choices, *, gap: float, seconds: float) -> Found:
    """Solve the program of the whole fleet, and return the plan with the proven bound.

    The best plan is looked for, with ties broken (see :mod:`stockopt.program.ties`); once that has
    taken :data:`EFFORT`, a plan within the gap is good enough.

    Parameters
    ----------
    choices, gap, seconds
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
    solver = start_solver(shared.arrays, cost, whole=True)
    for option, value in (("mip_rel_gap", 0.0), ("mip_abs_gap", 0.0), ("time_limit", seconds)):
        solver.setOptionValue(option, value)

    def stop_when_enough(event: Any) -> None:  # noqa: ANN401 - highspy has no types
        told = event.data_out
        if told.mip_node_count >= EFFORT and told.mip_gap <= gap:
            event.interrupt()

    solver.cbMipInterrupt.subscribe(stop_when_enough)
    solver.run()
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
