"""The program as one model: built, solved, and read back as whole pieces."""

from __future__ import annotations

from dataclasses import dataclass

import pulp

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.columns import add_columns
from stockopt.program.constraints import add_constraints
from stockopt.program.highs import QuietHiGHS
from stockopt.program.needs import list_lines, list_needs
from stockopt.program.objective import build_objective
from stockopt.program.pick import list_bought, list_picked
from stockopt.program.rows import Program
from stockopt.program.solution import Bought, Picked
from stockopt.program.ties import SCALE, find_most_ties, list_tie_costs

#: Nodes of the search after which a plan within the gap is good enough. Charter bases of eight
#: boats and 50 parts take fewer than 10 to the best plan, hard instances of 2,000 choices some
#: 1,000.
EFFORT = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A plan in whole pieces, and the proven bound of what was asked to be small."""

    picked: tuple[Picked, ...]
    bought: tuple[Bought, ...]
    bound: float


def build_program(choices: Choices) -> Program:
    """Build the whole program, without solving it.

    Parameters
    ----------
    choices
        What can be chosen, and the limits.

    Raises
    ------
    NoPlanError
        Nothing can bring some boat's least pieces aboard in time.
    """
    needs = list_needs(choices)
    if not all(need.options or need.port for need in needs):
        raise NoPlanError(())
    problem = pulp.LpProblem("stockopt", pulp.LpMinimize)
    lines = list_lines(needs, choices)
    columns = add_columns(problem, needs, lines, choices)
    program = Program(problem=problem, choices=choices, needs=needs, lines=lines, columns=columns)
    problem += build_objective(needs, lines, columns, choices)
    add_constraints(program)
    return program


def solve_as_one(program: Program, *, gap: float, seconds: float) -> Found:
    """Solve a program that was built, and return the plan with the proven bound.

    The best plan is looked for, with ties broken (see :mod:`stockopt.program.ties`); once that has
    taken :data:`EFFORT`, a plan within the gap is good enough.

    PuLP calls a plan found when the time is up "Optimal", and leaves numbers in the columns
    where there is no plan at all: so what is asked first is whether there is a plan, and how
    good it is follows from the bound alone. The objective has no constant for the bound to miss.

    Raises
    ------
    NoPlanError
        No plan keeps all the limits; what clashes is asked in :mod:`stockopt.program.clashes`.
    SolverError
        The solver stopped without a plan.
    """
    problem = program.problem
    cost = problem.objective
    problem.setObjective(SCALE * (cost + pulp.LpAffineExpression(list_tie_costs(program))))
    problem.solve(QuietHiGHS(seconds=seconds, enough=gap, nodes=EFFORT))
    problem.setObjective(cost)
    if problem.status == pulp.LpStatusInfeasible:
        raise NoPlanError(())
    if problem.status != pulp.LpStatusOptimal:
        raise SolverError(
            f"the solver found no plan within {seconds:g} s; give it more time (setting seconds)"
        )
    return Found(
        picked=list_picked(program.needs, program.columns, program.choices),
        bought=list_bought(program.columns),
        bound=problem.solverModel.getInfo().mip_dual_bound / SCALE - find_most_ties(program),
    )
