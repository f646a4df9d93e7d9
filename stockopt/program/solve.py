"""The integer program from choices to solution; the solver's statuses end here."""

from __future__ import annotations

import time

import pulp

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.clashes import find_clashes
from stockopt.program.columns import add_columns
from stockopt.program.constraints import add_constraints
from stockopt.program.highs import QuietHiGHS
from stockopt.program.needs import list_lines, list_needs
from stockopt.program.objective import build_objective
from stockopt.program.pick import find_costs, find_free_freight, list_bought, list_picked
from stockopt.program.rows import Program
from stockopt.program.solution import Bought, Picked, Solution, SolveStatus

#: A plan this near to its bound, as a share, is called optimal: what the solver's own
#: tolerances (1e-6 of a row, 1e-9 of a cost) can tell apart.
_PROVEN = 1e-7


def solve_program(choices: Choices, *, gap: float, seconds: float) -> Solution:
    """Find the plan that costs least, money now plus what is expected later.

    Parameters
    ----------
    choices
        What can be chosen, and the limits. In whatever order its parts, choices and offers
        stand, the solution is the same.
    gap
        Proven distance from the best plan at which to stop, as a share.
    seconds
        Longest time for the solver. It is a soft limit: the solver looks at the clock between
        steps.

    Returns
    -------
    Solution
        The plan, with the proven bound.

    Raises
    ------
    NoPlanError
        No plan keeps all the limits; says which clash where one by itself cannot be kept.
    SolverError
        The solver stopped without a plan.
    """
    needs = list_needs(choices)
    if not needs:
        return _conclude(choices, (), (), bound=0.0, seconds=0.0, gap=gap)
    if not all(need.options for need in needs):
        raise NoPlanError(find_clashes(choices))
    problem = pulp.LpProblem("stockopt", pulp.LpMinimize)
    lines = list_lines(needs, choices)
    columns = add_columns(problem, needs, lines, choices)
    problem += build_objective(needs, lines, columns, choices)
    add_constraints(
        Program(problem=problem, choices=choices, needs=needs, lines=lines, columns=columns)
    )
    started = time.perf_counter()
    bound = _run_solver(problem, choices, gap=gap, seconds=seconds)
    taken = time.perf_counter() - started
    return _conclude(
        choices,
        list_picked(needs, columns),
        list_bought(columns),
        bound=bound,
        seconds=taken,
        gap=gap,
    )


def _run_solver(problem: pulp.LpProblem, choices: Choices, *, gap: float, seconds: float) -> float:
    """Solve, and return the proven bound.

    PuLP calls a plan found when the time is up "Optimal", and leaves numbers in the columns
    where there is no plan at all: so what is asked first is whether there is a plan, and how
    good it is follows from the bound alone. The objective has no constant for the bound to miss.
    """
    problem.solve(QuietHiGHS(gap=gap, seconds=seconds))
    if problem.status == pulp.LpStatusInfeasible:
        raise NoPlanError(find_clashes(choices))
    if problem.status != pulp.LpStatusOptimal:
        raise SolverError(
            f"the solver found no plan within {seconds:g} s; give it more time (setting seconds)"
        )
    return float(problem.solverModel.getInfo().mip_dual_bound)


def _conclude(
    choices: Choices,
    picked: tuple[Picked, ...],
    bought: tuple[Bought, ...],
    *,
    bound: float,
    seconds: float,
    gap: float,
) -> Solution:
    """Put the solution together, with its objective worked out anew from whole pieces."""
    free_freight = find_free_freight(choices, bought)
    objective = sum(find_costs(choices, picked, bought, free_freight))
    bound = min(bound, objective)
    reached = (objective - bound) / max(1.0, abs(objective))
    status: SolveStatus = "stopped"
    if reached <= _PROVEN:
        status = "optimal"
    elif reached <= gap:
        status = "within gap"
    return Solution(
        status=status,
        objective=objective,
        bound=bound,
        gap=reached,
        seconds=seconds,
        picked=picked,
        bought=bought,
        free_freight=free_freight,
    )
